#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Twenty clients at once against the real program on 127.0.0.1: every page and twin that the table of routes names, forms,
uploads of recordings and pictures, hostile requests, listeners of the event stream that come and go; with --gate a live test runs
beside it all, shots coming in from the gate's own firmware in the simulator. No answer may be a failure of the program, no shot
is lost, memory stays flat, it goes on serving and ends cleanly.
Usage: soak.py PROGRAM SOURCE-ROOT [REQUESTS] [--gate GATE-ON-A-PTY] (CW_GATE_ELF names the firmware)
SOURCE-ROOT: routes are read from its src/web, the bench from tests/data/benches. REQUESTS: 600 without; `scripts/soak` runs 10000."""
import glob
import http.client
import json
import os
import random
import re
import socket
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse

sys.dont_write_bytecode = True
import bench  # noqa: E402, beside this file

GATE = sys.argv[sys.argv.index("--gate") + 1] if "--gate" in sys.argv else None
PROGRAM, ROOT = sys.argv[1:3]
REQUESTS = int(sys.argv[3]) if len(sys.argv) > 3 and sys.argv[3].isdigit() else 600
CLIENTS, EXPOSURE_S, SHOTS_MOST = 20, 0.004, 99
MARKS = {100, REQUESTS // 10, REQUESTS // 2, REQUESTS * 3 // 4, REQUESTS}
GROWTH_MIB = 8  # from half of the requests to their end; what a bench that has grown costs is in it
WORDS = ["Tarnbrook 35", "Ellory Reflex", "slow speeds", "größer", "0.5", "1/125", "2026-01-07", "-1", "x" * 400, "<script>", "", "yes"]
FORMS = [("/jobs/new", {"camera": "Ellory Reflex", "complaint": "curtain drags", "shutter": "focal-plane"}),
         ("/jobs/1/costs", {"what": "foam", "amount": "3.20", "on_day": "2026-01-07"}),
         ("/jobs/1/steps/new", {"title": "lower ring", "came_off": "ring"}),
         ("/levels", {"name": "lamp", "value": "320", "unit": "lx"}),
         ("/jobs/1/undo", {}), ("/jobs/1/redo", {}), ("/photos/1/marks", {"x": "0.5", "y": "0.5", "text": "hook"})]


class Live:
    """A light gate without hardware, and a live test that listens to it. Shots are fired until the others are done."""

    def __init__(self, client):
        self.client, self.fired, self.ends = client, 0, threading.Event()
        self.gate = subprocess.Popen([GATE, "--tell", "1"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        port = self.gate.stdout.readline().split()[1]
        status, body, _ = client.post("/live/begin", {"source": "gate", "port": port, "channels": "1", "sensors-mm": "4,18,32",
                                                      "marked-list": "1/250;1/125;1/60;1/30", "shots-per-speed": str(SHOTS_MOST)})
        assert status == 303, (status, body[:2000])
        time.sleep(2.5)  # the gate is greeted a second after the port opens
        self.firing = threading.Thread(target=self.fire)
        self.firing.start()

    def fire(self):
        while not self.ends.wait(0.25) and self.fired < 4 * SHOTS_MOST:
            self.gate.stdin.write(f"leaf {EXPOSURE_S}\n")
            self.gate.stdin.flush()
            dark = self.gate.stdout.readline()  # the simulator may lag behind; the next shot waits for this one's end
            assert dark.startswith("dark "), dark
            self.fired += 1
            time.sleep(max(0, float(dark.split()[1]) - time.time()))

    def end(self):
        """What came in, once the last line has had time to come."""
        self.ends.set()
        self.firing.join()
        until = time.monotonic() + 20
        while time.monotonic() < until:
            state = json.loads(self.client.get("/live.json")[1])
            if len(state["shots"]) >= self.fired:
                break
            time.sleep(0.2)
        self.gate.stdin.write("quit\n")
        self.gate.stdin.flush()
        self.gate.wait(timeout=20)
        good = [shot for shot in state["shots"] if not shot["incomplete"]]
        off = [shot["exposure_s"] for shot in good if abs(shot["exposure_s"] / EXPOSURE_S - 1) > 0.006]
        trouble = [notice["text"] for notice in state["notices"] if notice["trouble"]]
        print(f"live beside it: {self.fired} shots fired, {len(state['shots'])} there, {len(state['shots']) - len(good)} incomplete; "
              f"in trouble: {trouble}")
        assert not trouble, "lines of the gate were lost"
        # where the simulator gets no processor it plays edges late, and two shots run into one
        assert self.fired > 3 and self.fired >= len(state["shots"]) and len(good) >= self.fired - 1 - self.fired // 50, state["shots"]
        assert not off, f"exposures that are not {EXPOSURE_S} s: {off}"


class Soak:
    def __init__(self, folder):
        self.lock, self.left, self.done = threading.Lock(), REQUESTS, 0
        self.statuses, self.wrong, self.sizes = {}, [], {}
        self.server = bench.Server(PROGRAM, folder)
        self.port = self.server.port
        table = re.findall(r'\{"(GET|POST)",\s*"([^"]+)",\s*(\w+),\s*(\w+)', bench.read(ROOT, "src/web/routes.c").decode())
        self.pages = [path for method, path, _, _ in table if method == "GET"]
        self.pages += [path.rstrip("/") + ".json" for method, path, _, twin in table if method == "GET" and twin != "NULL" and path != "/"]
        # what is posted to a live test would end it
        self.posts = [path for method, path, _, _ in table if method == "POST" and not (GATE and path.startswith("/live/"))]
        assert len(self.pages) > 80 and len(self.posts) > 50, "the table of routes is no longer understood"
        self.sheets = re.findall(r"href='/worksheets/([a-z0-9-]+)'", self.ask("GET", "/worksheets")[1].decode())
        assert len(self.sheets) > 10, "no worksheets to ask for"
        self.recordings = [bench.read(ROOT, path) for path in sorted(glob.glob("tests/fuzz/corpus/recording-*/*", root_dir=ROOT))]
        self.picture = bench.read(ROOT, "docs/pictures/by-ear.png")

    def ask(self, method, target, headers=None, body=None):
        line = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        try:
            line.request(method, target, body, headers or {})
            answer = line.getresponse()
            return answer.status, answer.read(), answer.getheader("Set-Cookie")
        finally:
            line.close()

    def session(self):
        cookie = self.ask("GET", "/jobs/new")[2].split(";")[0]
        page = self.ask("GET", "/jobs/new", {"Cookie": cookie})[1]
        return cookie, re.search(rb"name='token' value='([0-9a-f]{64})'", page).group(1).decode()

    def filled(self, path, dice):
        path = re.sub("#", lambda _: str(dice.choice([1, 1, 1, 2, 3, 999])), path)
        if "/worksheets/*" in path:
            path = path.replace("*", dice.choice(self.sheets), 1)
        return path.replace("*", dice.choice(["drawing.svg", "sheet.pdf", "nothing", "..%2f.."]))

    def upload(self, cookie, token, dice):
        target, name, content = dice.choice(
            [("/recordings", "recording", dice.choice(self.recordings)), ("/sounds", "recording", dice.choice(self.recordings)),
             ("/jobs/1/photos", "photo", self.picture), ("/jobs/1/photos", "photo", self.picture[:dice.randrange(9000)]),
             ("/recordings", "recording", dice.randbytes(3000)), ("/import", "archive", dice.randbytes(3000))])
        body = b"".join(f'--edge\r\nContent-Disposition: form-data; name="{n}"{f}\r\n\r\n'.encode() + c + b"\r\n"
                        for n, f, c in [("token", "", token.encode()), (name, '; filename="a.bin"', content)]) + b"--edge--\r\n"
        return self.ask("POST", target, {"Cookie": cookie, "Content-Type": "multipart/form-data; boundary=edge"}, body)[0], target

    def hostile(self, dice):
        kind = dice.randrange(4)
        if kind == 0:
            return self.ask("GET", dice.choice(["/../../etc/passwd", "/photos/%00", "/%ff", "/" + "a/" * 40]))[0], "path"
        if kind == 1:
            return self.ask("GET", "/", {"Host": "evil.example"})[0], "host"
        if kind == 2:
            return self.ask("POST", "/jobs/new", {"Content-Type": "application/x-www-form-urlencoded"}, b"camera=x&token=0")[0], "token"
        with socket.create_connection(("127.0.0.1", self.port), timeout=60) as line:
            line.sendall(dice.choice([b"GET / HT", dice.randbytes(300), b"POST /recordings HTTP/1.1\r\nContent-Length: 90000\r\n\r\nx"]))
        return 0, "broken off"

    def listen(self, dice):
        with socket.create_connection(("127.0.0.1", self.port), timeout=60) as line:
            line.sendall(f"GET /live/shots HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nAccept: text/event-stream\r\n\r\n".encode())
            head = line.recv(64)
            time.sleep(dice.random() * 0.2)
        return int(head.split(b" ")[1]) if head.startswith(b"HTTP/1.1 ") else 0, "/live/shots"

    def form(self, cookie, token, dice):
        target, fields = dice.choice(FORMS)
        if dice.random() < 0.5:
            target, fields = self.filled(dice.choice(self.posts), dice), {k: dice.choice(WORDS) for k in ["title", "name", "at", "what", "words"]}
        body = urllib.parse.urlencode(fields | {"token": token})
        return self.ask("POST", target, {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}, body)[0], target

    def one(self, cookie, token, number, dice):
        roll = dice.random()
        if roll < 0.55:
            target = self.filled(self.pages[number % len(self.pages)], dice)
            return self.listen(dice) if target == "/live/shots" else (self.ask("GET", target, {"Cookie": cookie})[0], target)
        if roll < 0.75:
            return self.form(cookie, token, dice)
        if roll < 0.85:
            return self.upload(cookie, token, dice)
        return self.hostile(dice) if roll < 0.95 else self.listen(dice)

    def client(self, seed):
        dice = random.Random(seed)
        try:
            cookie, token = self.session()
            while True:
                with self.lock:
                    if self.left == 0:
                        return
                    self.left -= 1
                    number = REQUESTS - self.left
                status, what = self.one(cookie, token, number, dice)
                with self.lock:
                    self.done += 1
                    self.statuses[status] = self.statuses.get(status, 0) + 1
                    if status >= 500:
                        self.wrong.append(f"{status} for {what}")
                    if self.done % 20 == 0:
                        self.note_size()
        except Exception as why:  # said by main: a thread has nobody to tell
            with self.lock:
                self.wrong.append(f"client {seed}: {why!r}")

    def note_size(self):
        """What is held while little goes on: a photo or a paper under way takes tens of MiB for a moment, so the least of the
        samples of the last tenth before a mark counts."""
        size = self.server.resident_mib()
        for mark in MARKS:
            if 0.9 * mark < self.done <= mark:
                self.sizes[mark] = min(size, self.sizes.get(mark, size))

    def check_memory(self, sanitized):
        time.sleep(2)
        print("resident, MiB, after so many requests:", {k: round(v, 1) for k, v in sorted(self.sizes.items())},
              f"and at rest behind them: {self.server.resident_mib():.1f}")
        if REQUESTS >= 5000 and not sanitized:  # a sanitizer keeps what was freed for a while
            grown = self.sizes[REQUESTS] - self.sizes[REQUESTS // 2]
            assert grown < GROWTH_MIB, f"grown by {grown:.1f} MiB from {REQUESTS // 2} requests to {REQUESTS}"


def main():
    with tempfile.TemporaryDirectory() as outer:
        folder = os.path.join(outer, "bench")
        bench.fill(folder, ROOT)
        soak = Soak(folder)
        live = None
        with open(f"/proc/{soak.server.process.pid}/maps", encoding="ascii") as maps:
            sanitized = "asan" in maps.read()
        began = time.monotonic()
        try:
            live = Live(bench.Client(soak.port)) if GATE else None
            clients = [threading.Thread(target=soak.client, args=(seed,)) for seed in range(CLIENTS)]
            for client in clients:
                client.start()
            for client in clients:
                client.join()
            took = time.monotonic() - began
            status, refused, _ = soak.ask("GET", "/door.json")
            assert status == 200 and soak.server.process.poll() is None, "no longer serving"
            print(f"{soak.done} requests in {took:.1f} s; answers {dict(sorted(soak.statuses.items()))}")
            print(f"refused {json.loads(refused)['refused']}")
            soak.check_memory(sanitized)
            if live:
                live.end()
        finally:
            if live:
                live.ends.set()
                live.gate.terminate()
            complaints = soak.server.stop()
        assert not soak.wrong, "\n".join(soak.wrong[:20])
        assert soak.done == REQUESTS
        assert soak.server.process.returncode == 0, f"ended with {soak.server.process.returncode}: {complaints[-3000:]}"
        assert soak.statuses.get(200, 0) > REQUESTS / 4 and soak.statuses.get(303, 0) > REQUESTS / 100, "hardly anything was done"


main()
