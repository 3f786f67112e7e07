#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Three releases of known exposure, written as many instruments might, measured as a person would: `camerawright shutter
FILE --marked 1/125 --json`, and the same file sent to the page. The exposures must agree with the truth; what is refused
must be refused with status 2, the line or the fact, and what to do. Nothing of the program is used to write the files.
Usage: odd_recordings.py PROGRAM"""
import csv
import io
import json
import os
import random
import re
import socket
import struct
import subprocess
import sys
import tempfile

PROGRAM = sys.argv[1]
SHOTS = [(0.1213, 0.00837), (0.4581, 0.00791), (0.7937, 0.00812)]  # opens at (mid level), exposure, in s
RAMP_S, INTERVAL_S, ROWS = 90e-6, 20e-6, 50000
LOW_V, HIGH_V = 0.052, 3.187


def light(t):
    """0 to 1: blades that open and close in RAMP_S. The area is the exposure, and so is the time between mid levels."""
    for at, exposure in SHOTS:
        up, down = (t - at) / RAMP_S + 0.5, (t - at - exposure) / RAMP_S + 0.5
        if up > 0 and down < 1:
            return min(1, up) - max(0, down)
    return 0


dice = random.Random(2385)
TRACE = [(i * INTERVAL_S, LOW_V + (HIGH_V - LOW_V) * light(i * INTERVAL_S) + dice.gauss(0, 0.002)) for i in range(ROWS)]
CHANGES = [change for at, exposure in SHOTS for change in ((at, 1), (at + exposure, 0))]


def rows(row, end="\n"):
    return "".join(row(i, t, v) + end for i, (t, v) in enumerate(TRACE))


def comma(text):
    return text.replace(".", ",")


def clock(t, separator="."):
    """Time of day; midnight lies between the second and the third release."""
    us = round((86399.4 + t) * 1e6) % 86400000000
    return f"{us // 3600000000:02d}:{us // 60000000 % 60:02d}:{us // 1000000 % 60:02d}{separator}{us % 1000000:06d}"


def prefixed(value, unit):
    for size, prefix in ((1, ""), (1e-3, "m"), (1e-6, "\u00b5")):
        if abs(value) >= size * 0.9999999:
            return f"{value / size:.9g} {prefix}{unit}"
    return f"0 {unit}"


def quoted():
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL)
    writer.writerow(["Time (s)", 'Channel "A" (V)'])
    writer.writerows((f"{t:.6f}", f"{v:.4f}") for t, v in TRACE)
    return out.getvalue()


def ticks(t, per_second):
    return round(t * per_second)


def vcd(head, change, per_second, tail=""):
    return head + "".join(f"#{ticks(t, per_second)}\n{change(level)}\n" for t, level in CHANGES) + f"#{ticks(1.0, per_second)}\n" + tail


def riff(samples, size=None, rate=50000, name=b"RIFF", before=b""):
    data = b"".join(struct.pack("<h", round(v * 8000)) for _, v in samples)
    form = struct.pack("<IHHIIHH", 16, 1, 1, rate, 2 * rate, 2, 16)
    said = struct.pack("<I", len(data) if size is None else size)
    return name + struct.pack("<I", 36 + len(before) + len(data)) + b"WAVE" + before + b"fmt " + form + b"data" + said + data


def aiff(samples):
    data = b"".join(struct.pack(">h", round(v * 8000)) for _, v in samples)
    rate = struct.pack(">HQ", 0x400e, 50000 << 48)  # 80-bit extended: 50000 * 2^(1 - 16 + 63 - 48)
    common = struct.pack(">hIh", 1, len(samples), 16) + rate
    chunks = b"COMM" + struct.pack(">I", len(common)) + common + b"SSND" + struct.pack(">III", len(data) + 8, 0, 0) + data
    return b"FORM" + struct.pack(">I", 4 + len(chunks)) + b"AIFF" + chunks


HEAD = "$timescale 100 ns $end $var wire 1 ! A $end $enddefinitions $end\n#0 0!\n"

READ = {
    "settings.csv": "Model,bench\nRecord Length,50000\nSample Interval,2.0e-05\n\nTIME,CH1\n" + rows(lambda i, t, v: f"{t:.6f},{v:.4f}"),
    "quoted.csv": quoted(),
    "units-row.csv": "Time,Channel A\n(ms),(mV)\n\n" + rows(lambda i, t, v: f"{t * 1e3:.4f},{v * 1e3:.2f}"),
    "units-in-cells.csv": "Time,CH1\n" + rows(lambda i, t, v: f"{prefixed(t, 's')},{prefixed(v, 'V')}"),
    "decimal-comma.csv": ("\ufeffZeit (\u00b5s);Kanal A (V)\r\n" + comma(rows(lambda i, t, v: f"{t * 1e6:.1f};{v:.4f}", "\r\n"))).encode("utf-16"),
    "groups.csv": "Time (us),CH1 (mV)\n" + rows(lambda i, t, v: f'"{t * 1e6:,.1f}","{v * 1e3:,.1f}"'),
    "groups-of-points.csv": "Zeit (us);A (mV)\n" + rows(lambda i, t, v: f"{t * 1e6:,.1f};{v * 1e3:,.1f}").translate(str.maketrans(",.", ".,")),
    "clock.csv": "Time,CH1\n" + rows(lambda i, t, v: f"{clock(t)},{v:.4f}"),
    "iso.csv": "timestamp,CH1\n" + rows(lambda i, t, v: f"2024-05-0{6 + (t >= 0.6)}T{clock(t)}+02:00,{v:.4f}"),
    "date-and-clock.csv": "Date;Time;CH1\n" + rows(lambda i, t, v: f"06.05.2024;{clock(t, ',')};{comma(f'{v:.4f}')}"),
    "epoch-ns.csv": "t_ns,CH1\n" + rows(lambda i, t, v: f"1715000000{round(t * 1e9):09d},{v:.4f}"),
    "counter.csv": "micros,A0\n" + rows(lambda i, t, v: f"{(4294500000 + 20 * i) % 2 ** 32},{v:.3f}"),
    "interval-only.csv": "#CLOCK=20.0uS\n#SIZE=50000\n" + rows(lambda i, t, v: f"{v:.4f}"),
    "rate-only.csv": "Sample Rate,50 000 Hz\nPoint,CH1\n" + rows(lambda i, t, v: f"{i - 25000},{v:.4f}"),
    "counted-and-timed.csv": "Sample,Time (s),CH1 (V)\n" + rows(lambda i, t, v: f"{i},{t:.5f},{v:.4f}"),
    "bars.txt": "| Time (ms) | CH1 |\n|---|---|\n" + rows(lambda i, t, v: f"| {t * 1e3:.3f} | {v:.4f} |"),
    "remark-below.csv": "Time,CH1\n" + rows(lambda i, t, v: f"{t - 0.5:.6f},{v:.4f}") + "\nRows,50000\nMax,3.19\n",
    "two-times.csv": "Time,CH1,Time,CH2\n" + rows(lambda i, t, v: f"{t:.6f},{v:.4f},{t + 8e-6:.6f},{v / 2:.4f}"),
    "over.csv": "Time,CH1,CH2\n" + rows(lambda i, t, v: f"{t:.6f},{'OVER' if v > 3.19 else f'{v:.4f}'},---"),
    "few-digits.csv": "Time,CH1\n" + rows(lambda i, t, v: f"{t:.4f},{v:.4f}"),
    "float32.csv": "Time,CH1\n" + rows(lambda i, t, v: f"{t:.6g},{v:.4g}"),
    "changes.csv": "Time [s],D0,D1\n0.0,0,0\n" + "".join(f"{t:.9f},{level},\n{t + 1e-4:.9f},,{level}\n" for t, level in CHANGES),
    "changes-in-words.csv": "Time [s];D0\n0,0;Low\n" + "".join(comma(f"{t:.9f};") + ("High\n" if level else "Low\n") for t, level in CHANGES),
    "plain.vcd": vcd(HEAD, lambda level: f"{level}!", 1e7),
    "open.vcd": vcd("$timescale 1 us $end\n$var wire 1 ab A $end\n$dumpvars b0 ab $end #0\n", lambda level: f"b000{level} ab", 1e6),
    "ports.vcd": vcd("$timescale 10 us $end $var port 1 <0 A $end $enddefinitions $end\n#0 $dumpports pD 6 0 <0 $end\n",
                     lambda level: "pU 0 6 <0" if level else "pD 6 0 <0", 1e5),
    "plain.wav": riff(TRACE),
    "length-never-written.wav": riff(TRACE, size=0),
    "bw64.wav": riff(TRACE, size=0xffffffff, name=b"BW64", before=b"ds64" + struct.pack("<IQQQI", 28, 0, 2 * ROWS, ROWS, 0)),
    "plain.aiff": aiff(TRACE),
}

REFUSED = {
    "clock-of-what.csv": ("#CLOCK=0x1388\n" + rows(lambda i, t, v: f"{v:.4f}"), "may be an interval, a rate or a count", "--sample-interval"),
    "per-division.csv": ("Horizontal Scale,0.1\nCH1\n" + rows(lambda i, t, v: f"{v:.4f}"), "time per division", "--sample-interval"),
    "hole.csv": ("Time,CH1\n" + rows(lambda i, t, v: f"{t:.6f},{'nan' if i == 3000 else f'{v:.4f}'}"), 'line 3002: "nan"', "wider"),
    "back.csv": ("Time,CH1\n" + rows(lambda i, t, v: f"{t % 0.7:.6f},{v:.4f}"), "line 35002: time runs back", "joined"),
    "nine.csv": ("t" + ",CH" * 9 + "\n" + rows(lambda i, t, v: f"{t:.6f}" + f",{v:.3f}" * 9), "more than 8 columns", "Keep those"),
    "sheet.xlsx": (b"PK\x03\x04" + bytes(200), "spreadsheet or an archive", "save the sheet as CSV"),
    "screen.png": (b"\x89PNG\r\n\x1a\n" + bytes(200), "a picture", "as CSV"),
    "bus.vcd": ("$timescale 1 us $end $var wire 8 ! data [7:0] $end $enddefinitions $end #0 b0 !\n", 'only buses ("data[7:0]")', "one by one"),
    "cut.vcd": (vcd(HEAD, lambda level: f"{level}!", 1e7)[:-6], "cut off", "export it again"),
    "cut.wav": (riff(TRACE)[:50000], "cut off: its header promises", "Copy or record it again"),
    "cut.aiff": (aiff(TRACE)[:50000], "cut off: its header promises", "Copy or record it again"),
    "rate.wav": (riff(TRACE, rate=2000000000), "a sample rate of 2000000000 Hz", "export it again"),
}


def check_exposures(name, shots):
    assert len(shots) == len(SHOTS), (name, len(shots), "shots")
    for shot, (_, truth) in zip(shots, SHOTS):
        sensor = shot["sensors"][0]
        error, u = sensor["exposure_s"] - truth, sensor["u_exposure_s"]
        # a sampled trace is known far better than its interval; ticks of 10 us are a rectangle of that width an edge
        assert abs(error) < max(2e-6, 3 * u) and 0 < u < 1e-5, (name, sensor["exposure_s"], truth, u)


def shutter(path):
    return subprocess.run([PROGRAM, "shutter", path, "--marked", "1/125", "--shutter", "leaf", "--beam", "diffuse", "--json"],
                          capture_output=True, text=True)


class Page:
    """The program's own server, with one session."""

    def __init__(self, folder):
        self.process = subprocess.Popen([PROGRAM, "serve", "--bench", folder, "--port", "0"], stdout=subprocess.PIPE, text=True)
        printed = ""
        while "Ctrl-C" not in printed:
            line = self.process.stdout.readline()
            assert line, "the program ended"
            printed += line
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)", printed).group(1))
        head, _ = self.ask("GET", "/measure")
        self.cookie = re.search(r"cw_session=[0-9a-f]{64}", head).group(0)
        self.token = re.search(rb"name='token' value='([0-9a-f]{64})'", self.ask("GET", "/measure")[1]).group(1)

    def ask(self, method, target, headers=(), body=b""):
        lines = [f"{method} {target} HTTP/1.1", f"Host: 127.0.0.1:{self.port}", "Connection: close", f"Content-Length: {len(body)}"]
        if hasattr(self, "cookie"):
            lines.append(f"Cookie: {self.cookie}")
        with socket.create_connection(("127.0.0.1", self.port), timeout=60) as line:
            line.sendall("\r\n".join([*lines, *headers]).encode() + b"\r\n\r\n" + body)
            answer = b""
            while piece := line.recv(1 << 16):
                answer += piece
        head, _, body = answer.partition(b"\r\n\r\n")
        return head.decode("latin-1"), body

    def send(self, name, content):
        """Where the page goes with the file."""
        part = '--edge\r\nContent-Disposition: form-data; name="{}"{}\r\n\r\n'
        body = (part.format("token", "").encode() + self.token + b"\r\n" +
                part.format("recording", f'; filename="{name}"').encode() + content + b"\r\n--edge--\r\n")
        head, _ = self.ask("POST", "/recordings", ["Content-Type: multipart/form-data; boundary=edge"], body)
        assert " 303 " in head, (name, head)
        return re.search(r"Location: (/recordings/\d+)", head, re.IGNORECASE).group(1)


def content_of(value):
    return value if isinstance(value, bytes) else value.encode("utf-8")


def main():
    with tempfile.TemporaryDirectory() as folder:
        page = Page(os.path.join(folder, "bench"))
        try:
            for name, value in READ.items():
                path = os.path.join(folder, name)
                with open(path, "wb") as file:
                    file.write(content_of(value))
                done = shutter(path)
                assert done.returncode == 0, (name, done.stderr)
                check_exposures(name, json.loads(done.stdout)["shots"])
                head, body = page.ask("GET", page.send(name, content_of(value)) + ".json?marked=1/125&shutter=leaf&beam=diffuse")
                assert " 200 " in head, (name, head, body[:400])
                found = json.loads(body)
                check_exposures(name + " on the page", found.get("result", found)["shots"])
                os.unlink(path)
            for name, (value, fact, way_out) in REFUSED.items():
                path = os.path.join(folder, name)
                with open(path, "wb") as file:
                    file.write(content_of(value))
                done = shutter(path)
                assert done.returncode == 2 and done.stdout == "", (name, done.returncode, done.stdout[:200])
                assert fact in done.stderr and way_out in done.stderr and done.stderr.count("\n") == 1, (name, done.stderr)
                head, body = page.ask("GET", page.send(name, content_of(value)))
                shown = body.decode().replace("&quot;", '"').replace("&#39;", "'").replace("&#34;", '"')
                assert f'"{name}"' in shown and folder not in shown, (name, "is not called by its name")
                assert fact in shown, (name, head, re.findall(r"<p class='notice.*?</p>", shown, re.S))
                os.unlink(path)
        finally:
            page.process.terminate()
            page.process.wait(timeout=30)
    print(f"{len(READ)} files measured, {len(REFUSED)} refused, each on the command line and on the page")


main()
