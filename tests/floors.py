#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the floors: no #include in src/ may point to a room on a higher floor, and the pure rooms may not reach for the
database, the network, the clock or the printer. Also proves that it would notice: a planted include must be refused."""
import pathlib
import re
import sys

FLOORS = [
    {"base"},
    {"signal", "optics", "workshop", "exposure"},
    {"shutter"},
    {"draw"},
    {"worksheets", "notebook", "live"},
    {"report"},
    {"web"},
    {"cli"},
]
FLOOR = {room: height for height, rooms in enumerate(FLOORS) for room in rooms}
# Rooms side by side on one floor that may not see each other either.
APART = FLOORS[1] | {"live"}
PURE = {"optics", "workshop", "exposure", "shutter", "worksheets"}
IMPURE = {"sqlite3.h", "microhttpd.h", "time.h", "sys/time.h", "unistd.h", "fcntl.h", "sys/socket.h", "portaudio.h", "pthread.h"}
# JSON leaves by one door (base/json.h), so that every face writes a number alike.
JSON_DOOR = pathlib.Path("src/base/json.c")
INCLUDE = re.compile(r'^\s*#\s*include\s+(["<])([^">]+)[">]')


def complaints(room, name, text):
    found = []
    for number, line in enumerate(text.splitlines(), 1):
        match = INCLUDE.match(line)
        if not match:
            continue
        target = match.group(2)
        if match.group(1) == '"':
            other = target.split("/")[0] if "/" in target else room
            if other not in FLOOR:
                found.append(f"{name}:{number}: \"{target}\" is in no room of src/")
            elif FLOOR[other] > FLOOR[room]:
                found.append(f"{name}:{number}: {room} is below {other} and may not include \"{target}\"")
            elif other != room and FLOOR[other] == FLOOR[room] and (room in APART or other in APART):
                found.append(f"{name}:{number}: {room} and {other} stand side by side; \"{target}\" belongs in a lower room")
        elif room in PURE and target in IMPURE:
            found.append(f"{name}:{number}: {room} is pure and may not include <{target}>")
    return found


def main():
    planted = complaints("signal", "planted.c", '#include "web/server.h"\n')
    assert len(planted) == 1, "the check would not notice an include that runs up"
    found, files = [], 0
    for path in sorted(pathlib.Path("src").rglob("*.[ch]")):
        room = path.parts[1]
        files += 1
        if room not in FLOOR:
            found.append(f"{path}: {room} is no room of the design")
            continue
        found += complaints(room, str(path), path.read_text())
        if path != JSON_DOOR and "json_dump" in path.read_text():
            found.append(f"{path}: JSON is written by cw_json_written of base/json.h alone")
    print("\n".join(found) or f"{files} files keep to their floors")
    return 1 if found or not files else 0


sys.exit(main())
