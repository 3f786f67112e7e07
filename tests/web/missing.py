#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Originals that are gone from the bench's folder: their addresses say so (404), everything else of the job goes on, and the check
names each. Usage: missing.py PROGRAM SOURCE-ROOT"""
import glob
import os
import subprocess
import sys
import tempfile

sys.dont_write_bytecode = True
import bench  # noqa: E402, beside this file


def main():
    program, root = sys.argv[1:3]
    with tempfile.TemporaryDirectory() as outer:
        folder = os.path.join(outer, "bench")
        bench.fill(folder, root)
        originals = glob.glob(f"{folder}/photos/*/*") + glob.glob(f"{folder}/recordings/*/*")
        assert len(originals) == 2, originals
        for path in originals:
            os.unlink(path)
        server = bench.Server(program, folder)
        try:
            client = bench.Client(server.port)
            for address in ["/photos/1/original", "/photos/1/small", "/photos/1/middle", "/photos/1/large", "/tests/1/trace"]:
                status, body, _ = client.get(address)
                assert status == 404, (address, status)
                assert "is not where it was kept" in body and "camerawright check" in body, (address, body[-900:])
            for address in ["/", "/jobs/1", "/photos/1", "/jobs/1/report", "/jobs/1/report.pdf", "/jobs/1/steps", "/tests/1"]:
                assert client.get(address)[0] == 200, address
        finally:
            complaints = server.stop()
        assert server.process.returncode == 0, complaints[-3000:]
        check = subprocess.run([program, "check", "--bench", folder], capture_output=True, text=True, timeout=60)
        assert check.returncode == 1, check
        for what in ["photo 1 of job 1", "recording 1"]:
            assert any(line.startswith(what) and "is missing" in line for line in check.stdout.splitlines()), check.stdout
    print("what is gone is named; the rest goes on")


main()
