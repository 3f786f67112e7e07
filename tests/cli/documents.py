#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs every command line shown in the documents and holds the output against what is printed there.

Usage: documents.py CAMERAWRIGHT [FILE.md ...]      (no files: README.md, docs/*.md and tests/cli/*.md)

In a fenced block marked `console`, a line "$ command" is run in a scratch folder of that document (so that one command
can use what an earlier one made), and the lines that follow are its output: "..." alone stands for any lines, "..." in a line
for any text, and a last line "[exit status N]" for an exit status other than 0. Nothing after the command means: any output.
`cd`, variables and pipes are the shell's."""
import os
import pathlib
import re
import subprocess
import sys
import tempfile

program = pathlib.Path(sys.argv[1]).resolve()
root = pathlib.Path(os.environ.get("CW_SOURCE_ROOT", ".")).resolve()
files = [pathlib.Path(name) for name in sys.argv[2:]] or sorted(
    [root / "README.md", *root.glob("docs/**/*.md"), *root.glob("tests/cli/*.md")])


def matches(expected, got):
    pattern = ""
    for line in expected:
        if line.strip() == "...":
            pattern += r"(?:[^\n]*\n)*?"
        else:
            pattern += r"[^\n]*".join(re.escape(part) for part in line.rstrip().split("...")) + r"[ ]*\n"
    return re.fullmatch(pattern, got if got.endswith("\n") or not got else got + "\n") is not None


def cases(text):
    for block in re.findall(r"^```console\n(.*?)^```", text, re.M | re.S):
        current = None
        for line in block.splitlines():
            if line.startswith("$ "):
                if current:
                    yield current
                current = [line[2:], []]
            elif line.startswith("> ") and current and not current[1]:
                current[0] += "\n" + line[2:]
            elif current:
                current[1].append(line)
        if current:
            yield current


ran = failed = 0
for path in files:
    if not path.exists():
        continue
    with tempfile.TemporaryDirectory() as scratch:
        os.symlink(root / "tests" / "data", pathlib.Path(scratch) / "data")
        environment = dict(os.environ, PATH=f"{program.parent}:{os.environ['PATH']}", HOME=scratch, LC_ALL="C.UTF-8", TZ="UTC")
        for command, expected in cases(path.read_text()):
            wanted_status = 0
            if expected and (status := re.fullmatch(r"\[exit status (\d+)\]", expected[-1])):
                wanted_status = int(status.group(1))
                expected = expected[:-1]
            result = subprocess.run(["bash", "-c", command], cwd=scratch, env=environment, stdin=subprocess.DEVNULL,
                                    stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, timeout=100)
            good = result.returncode == wanted_status and (not expected or matches(expected, result.stdout))
            ran += 1
            label = f"{path.relative_to(root)}: {command.splitlines()[0]}"
            print(f"[{'       OK' if good else '  FAILED  '}{' ' if good else ''}] {label}")
            if not good:
                failed += 1
                print(f"  exit status {result.returncode}, expected {wanted_status}\n  expected:")
                print("".join(f"    {line}\n" for line in expected) + "  got:")
                print("".join(f"    {line}\n" for line in result.stdout.splitlines()))
print(f"{ran - failed} of {ran} commands did what the documents say")
sys.exit(1 if failed or ran == 0 else 0)
