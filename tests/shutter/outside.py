#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Clicks and photographs against other people's programs.

Usage: outside.py CAMERAWRIGHT CAMERAWRIGHT-SIM

Clicks: aubio 0.4.9 (Debian aubio-tools), its complex-domain onsets with windows of 1024 samples every 96, on simulated shutters
and on the camera sound of Debian's sound-theme-freedesktop. aubio tells an onset when its window has filled, so the two may be
a window apart: 1024 samples and two hops are the tolerance.
Photographs: dcraw_emu of LibRaw (Debian libraw-bin), nothing interpolated, on raw files written here by the DNG 1.4 tags: the counts of
every pixel, and from them the exposure at the middle by ISO 2720's proportionality (counts ~ light x time x ISO / N^2).
Exit status 77 where the other program is not installed."""
import json
import math
import pathlib
import random
import shutil
import struct
import subprocess
import sys
import tempfile

program, simulator = sys.argv[1:3]
missing = [name for name in ("aubioonset", "dcraw_emu") if not shutil.which(name)]
if missing:
    print(f"not installed: {', '.join(missing)}")
    sys.exit(77)
failed = 0


def check(good, words):
    global failed
    print(f"[{'  OK  ' if good else 'FAILED'}] {words}")
    failed += not good


def output(*command):
    return subprocess.run(command, check=True, stdout=subprocess.PIPE, text=True).stdout


# ---- clicks ----

def onsets(path, rate):
    lines = output("aubioonset", "-i", path, "-r", str(rate), "-O", "complex", "-B", "1024", "-H", "96", "-M", "0.03")
    return [float(line.split()[0]) for line in lines.splitlines() if line.strip()]


def clicks_agree(folder):
    exposures = "1.07,0.52,0.24,0.13"
    for seed, buzz in ((1, "0"), (2, "0.03"), (5, "0.06")):
        path = f"{folder}/sound-{seed}.wav"
        subprocess.run([simulator, "sound", path, "--exposures", exposures, "--buzz", buzz, "--seed", str(seed)], check=True,
                       stdout=subprocess.DEVNULL)
        heard = json.loads(output(program, "sound", path, "--marked-list", "1,1/2,1/4,1/8", "--json"))
        theirs = onsets(path, 48000)
        ours = [shot["sensors"][0][key] for shot in heard["shots"] for key in ("open_s", "close_s")]
        off = [min(abs(at - other) for other in theirs) for at in ours]
        check(len(ours) == 8 and max(off) <= (1024 + 2 * 96) / 48000,
              f"seed {seed}, buzz {buzz}: 8 clicks, farthest from aubio {1e3 * max(off):.1f} ms")

    # The camera sound: what aubio hears between its forerunner and the motor's run, we hear too; its windows are 10.7 ms long.
    path = "/usr/share/sounds/freedesktop/stereo/camera-shutter.oga"
    heard = json.loads(output(program, "sound", path, "--marked", "1/20", "--json"))
    ours = [click["at_s"] for click in heard["recording"]["clicks"]]
    theirs = [at for at in onsets(path, 96000) if 0.07 < at < 0.25]
    off = [min(abs(at - other) for other in ours) for at in theirs]
    check(len(theirs) >= 3 and max(off) <= (1024 + 2 * 96) / 96000,
          f"camera sound: {len(theirs)} onsets of aubio, farthest {1e3 * max(off):.1f} ms")


# ---- photographs ----

def dng(path, width, height, exposure, f_number, iso, black, white, pixels):
    def directory(at, entries):
        sizes, table, beyond = {1: 1, 2: 1, 3: 2, 4: 4, 5: 8, 10: 8}, b"", b""
        for tag, kind, values in sorted(entries):
            count = len(values) // 2 if kind in (5, 10) else len(values)
            body = bytes(values) if kind in (1, 2) else struct.pack(f"<{len(values)}{'H' if kind == 3 else 'i'}", *values)
            if count * sizes[kind] <= 4:
                body = body.ljust(4, b"\0")
            else:
                place = struct.pack("<I", at + 6 + 12 * len(entries) + len(beyond))
                beyond, body = beyond + body, place
            table += struct.pack("<HHI", tag, kind, count) + body
        return struct.pack("<H", len(entries)) + table + b"\0\0\0\0" + beyond
    strip = struct.pack(f"<{width * height}H", *pixels)
    exif_at = 8 + len(strip)
    exif = directory(exif_at, [(33434, 5, [1000, round(1000 / exposure)]), (33437, 5, [round(f_number * 1e6), 10**6]),
                               (34855, 3, [iso])])
    exif += b"\0" * (len(exif) % 2)
    main_at = exif_at + len(exif)
    identity = [1, 1, 0, 1, 0, 1, 0, 1, 1, 1, 0, 1, 0, 1, 0, 1, 1, 1]
    main = directory(main_at, [
        (254, 4, [0]), (256, 4, [width]), (257, 4, [height]), (258, 3, [16]), (259, 3, [1]), (262, 3, [32803]),
        (271, 2, b"Test\0"), (272, 2, b"Digital One\0"), (273, 4, [8]), (277, 3, [1]), (278, 4, [height]),
        (279, 4, [len(strip)]), (284, 3, [1]), (33421, 3, [2, 2]), (33422, 1, [0, 1, 1, 2]), (34665, 4, [exif_at]),
        (50706, 1, [1, 4, 0, 0]), (50707, 1, [1, 4, 0, 0]), (50708, 2, b"Digital One\0"), (50714, 3, [black]),
        (50717, 4, [white]), (50721, 10, identity), (50728, 5, [1, 1, 1, 1, 1, 1]), (50778, 3, [21])])
    pathlib.Path(path).write_bytes(b"II*\0" + struct.pack("<I", main_at) + strip + exif + main)


def tiff_pixels(path):
    """16-bit, three samples of which one is not 0, uncompressed, as dcraw_emu writes it."""
    data = pathlib.Path(path).read_bytes()
    order = "<" if data[:2] == b"II" else ">"
    at, = struct.unpack_from(order + "I", data, 4)
    tags = {}
    for i in range(struct.unpack_from(order + "H", data, at)[0]):
        tag, kind, count = struct.unpack_from(order + "HHI", data, at + 2 + 12 * i)
        tags[tag] = struct.unpack_from(order + ("H" if kind == 3 else "I"), data, at + 10 + 12 * i)[0]
    width, height = tags[256], tags[257]
    samples = struct.unpack_from(f"{order}{3 * width * height}H", data, tags[273])
    return width, height, [sum(samples[i:i + 3]) for i in range(0, len(samples), 3)]


def photographs_agree(folder):
    width, height, black, white = 480, 320, 512, 15000
    chance = random.Random(20)
    settings = {"reference": (1 / 30, 8, 100, 1 / 30), "test": (4, 5.6, 200, 1 / 333)}
    means = {}
    for name, (said_s, f_number, iso, light_s) in settings.items():
        level = 2e5 * light_s * iso / 100 * 64 / f_number**2
        pixels = []
        for y in range(height):
            for x in range(width):
                mean = level * (0.6, 1, 0.7)[(x & 1) + (y & 1)]
                pixels.append(max(0, min(white, round(black + mean + chance.gauss(0, math.sqrt(mean + 9))))))
        path = f"{folder}/{name}.dng"
        dng(path, width, height, said_s, f_number, iso, black, white, pixels)
        # no interpolation, no white balance, sensor colours, black and white as they are: a pixel's count in its own colour
        subprocess.run(["dcraw_emu", "-disinterp", "-4", "-T", "-r", "1", "1", "1", "1", "-o", "0", "-k", "0", "-S", "65535", path],
                       check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        seen_width, seen_height, seen = tiff_pixels(next(pathlib.Path(folder).glob(f"{name}.dng.tif*")))
        check((seen_width, seen_height) == (width, height) and seen == pixels,
              f"{name}: dcraw_emu sees every pixel as it was written")
        # the middle fifth of the frame, as dcraw_emu has it
        box = [seen[y * width + x] - black for y in range(height // 6, height * 5 // 6)
               for x in range(int(width * 0.42), int(width * 0.58))]
        means[name] = sum(box) / len(box)
    heard = json.loads(output(program, "photographs", f"{folder}/reference.dng", f"{folder}/test.dng", "--marked", "1/250",
                              "--json"))
    middle = heard["shots"][0]["sensors"][2]
    theirs = means["test"] / means["reference"] / 30 * (100 / 200) * (5.6 / 8) ** 2
    check(abs(middle["exposure_s"] / theirs - 1) < 0.003,
          f"exposure at the middle: {middle['exposure_s']:.6f} s, by dcraw_emu's counts {theirs:.6f} s")
    check(abs(middle["exposure_s"] * 333 - 1) < 0.02, "and near the 1/333 s the scene was made with")


with tempfile.TemporaryDirectory() as work:
    clicks_agree(work)
    photographs_agree(work)
sys.exit(1 if failed else 0)
