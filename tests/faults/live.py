#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""kill -9 in the midst of a live test. The gate's firmware in the simulator fires away, a listener notes every shot it is
shown, the program is killed at a random moment; started again, every shot that was shown has to be there, with the same
number. Usage: live.py GATE-ON-A-PTY CAMERAWRIGHT (CW_GATE_ELF names the firmware; CW_KILL_ROUNDS, 3 unless given)"""
import http.cookiejar
import json
import os
import random
import re
import signal
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse
import urllib.request

bridge_program, camerawright = sys.argv[1:3]


class Bench:
    """The program over one bench, and a browser's session with it."""

    def __init__(self, folder):
        self.process = subprocess.Popen([camerawright, "serve", "--bench", folder, "--port", "0"], stdout=subprocess.PIPE, text=True)
        for line in self.process.stdout:
            if found := re.search(r"laptop: (\S+?)/\s", line):
                self.address = found.group(1)
            if "Ctrl-C" in line:
                break
        self.opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor(http.cookiejar.CookieJar()))
        self.token = re.search("name='token' value='([^']*)'|data-token='([^']*)'", self.get("/live"))
        self.token = self.token.group(1) or self.token.group(2)

    def get(self, path):
        return self.opener.open(self.address + path, timeout=20).read().decode()

    def state(self):
        return json.loads(self.get("/live.json"))

    def post(self, path, **fields):
        body = urllib.parse.urlencode(dict(fields, token=self.token)).encode()
        self.opener.open(urllib.request.Request(self.address + path, data=body, headers={"Origin": self.address}), timeout=20)

    def listen(self, shown):
        """Notes the big reading of every state that is shown: {shot: text}."""
        try:
            with self.opener.open(self.address + "/live/shots", timeout=60) as stream:
                for line in stream:
                    if found := re.search(r"data-shot='(\d+)'>([^<]*)<", line.decode()):
                        shown[int(found.group(1))] = found.group(2)
        except OSError:
            pass  # killed


def one_round(bridge, port, folder, chance):
    bench = Bench(folder)
    before = bench.state()
    if before["state"] == "free":
        bench.post("/live/begin", **{"marked-list": "1/250", "shots-per-speed": "50", "sensors-mm": "4,18,32", "source": "gate",
                                     "channels": "1", "port": port})
    else:
        bench.post("/live/go-on")
    shown = {}
    listener = threading.Thread(target=bench.listen, args=(shown,))
    listener.start()
    until = time.monotonic() + 2.5 + chance.random()
    while time.monotonic() < until:
        bridge.stdin.write("leaf 0.004\n")
        bridge.stdin.flush()
        time.sleep(0.12)
    bench.process.send_signal(signal.SIGKILL)
    bench.process.wait()
    listener.join()
    bench = Bench(folder)
    after = bench.state()
    bench.process.send_signal(signal.SIGTERM)
    assert bench.process.wait(timeout=30) == 0
    assert after["state"] == "rests" and after["found_unfinished"], after["state"]
    there = {shot["shot"]: shot for shot in after["shots"]}
    lost = sorted(set(shown) - set(there))
    assert not lost, f"shown and not there any more: {lost}"
    assert shown and all(abs(there[n]["exposure_s"] / 0.004 - 1) < 0.006 for n in shown if not there[n]["incomplete"])
    assert len(there) >= len(before["shots"])
    return len(shown), len(there)


def main():
    chance = random.Random(7)
    bridge = subprocess.Popen([bridge_program], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
    port = bridge.stdout.readline().split()[1]
    with tempfile.TemporaryDirectory(prefix="cw-live-") as folder:
        rounds = [one_round(bridge, port, folder + "/bench", chance) for _ in range(int(os.environ.get("CW_KILL_ROUNDS", "3")))]
    bridge.stdin.write("quit\n")
    bridge.stdin.flush()
    bridge.wait(timeout=20)
    print(f"{len(rounds)} kills, {sum(shown for shown, _ in rounds)} shots shown, none lost; {rounds[-1][1]} in the journal at the end")


main()
