#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Twenty clients at once against the real program on 127.0.0.1: every page and twin that the table of routes names, forms,
uploads of recordings and pictures, hostile requests, listeners of the event stream that come and go. No answer may be a
failure of the program, it goes on serving, and it ends cleanly. Usage: soak.py PROGRAM SOURCE-ROOT [REQUESTS]
SOURCE-ROOT: routes are read from its src/web, the bench from tests/data/benches. REQUESTS: 600 without, 10000 in full."""
import glob
import hashlib
import http.client
import json
import os
import random
import re
import socket
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
import urllib.parse

PROGRAM, ROOT = sys.argv[1:3]
REQUESTS = int(sys.argv[3]) if len(sys.argv) > 3 else 600
CLIENTS = 20
WORDS = ["Tarnbrook 35", "Ellory Reflex", "slow speeds", "größer", "0.5", "1/125", "2026-01-07", "-1", "x" * 400, "<script>", "", "yes"]
FORMS = [("/jobs/new", {"camera": "Ellory Reflex", "complaint": "curtain drags", "shutter": "focal-plane"}),
         ("/jobs/1/costs", {"what": "foam", "amount": "3.20", "on_day": "2026-01-07"}),
         ("/jobs/1/steps/new", {"title": "lower ring", "came_off": "ring"}),
         ("/levels", {"name": "lamp", "value": "320", "unit": "lx"}),
         ("/jobs/1/undo", {}), ("/jobs/1/redo", {}), ("/photos/1/marks", {"x": "0.5", "y": "0.5", "text": "hook"})]


def read(path):
    with open(os.path.join(ROOT, path), "rb") as file:
        return file.read()


class Soak:
    def __init__(self, folder):
        self.lock, self.left, self.done = threading.Lock(), REQUESTS, 0
        self.statuses, self.wrong, self.sizes = {}, [], {}
        self.process = subprocess.Popen([PROGRAM, "serve", "--bench", folder, "--port", "0"], stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True)
        printed = ""
        while "Ctrl-C" not in printed:
            line = self.process.stdout.readline()
            assert line, f"the program ended: {self.process.stderr.read()}"
            printed += line
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)", printed).group(1))
        table = re.findall(r'\{"(GET|POST)",\s*"([^"]+)",\s*(\w+),\s*(\w+)', read("src/web/routes.c").decode())
        self.pages = [path for method, path, _, _ in table if method == "GET"]
        self.pages += [path.rstrip("/") + ".json" for method, path, _, twin in table if method == "GET" and twin != "NULL" and path != "/"]
        self.posts = [path for method, path, _, _ in table if method == "POST"]
        assert len(self.pages) > 80 and len(self.posts) > 50, "the table of routes is no longer understood"
        self.sheets = re.findall(r"href='/worksheets/([a-z0-9-]+)'", self.ask("GET", "/worksheets")[1].decode())
        assert len(self.sheets) > 10, "no worksheets to ask for"
        self.recordings = [read(path) for path in sorted(glob.glob("tests/fuzz/corpus/recording-*/*", root_dir=ROOT))]
        self.picture = read("docs/pictures/by-ear.png")

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
                    if self.done in (100, REQUESTS // 10, REQUESTS // 2, REQUESTS):
                        self.sizes[self.done] = self.resident_mib()
        except Exception as why:  # said by main: a thread has nobody to tell
            with self.lock:
                self.wrong.append(f"client {seed}: {why!r}")

    def resident_mib(self):
        with open(f"/proc/{self.process.pid}/status", encoding="ascii") as about:
            return int(re.search(r"VmRSS:\s+(\d+)", about.read()).group(1)) / 1024


def main():
    with tempfile.TemporaryDirectory() as outer:
        folder = os.path.join(outer, "bench")
        os.mkdir(folder)
        newest = max(glob.glob("tests/data/benches/v*.sql", root_dir=ROOT), key=lambda name: int(re.search(r"v(\d+)", name).group(1)))
        with sqlite3.connect(os.path.join(folder, "bench.db")) as bench:
            bench.executescript(read(newest).decode())
            # The frozen rows name originals that were never there: real ones take their place.
            for table, kept, ending, content in [("photo", "photos", ".png", read("docs/pictures/by-ear.png")),
                                         ("recording", "recordings", ".wav", read("tests/fuzz/corpus/recording-wav/mono-16.wav"))]:
                original = hashlib.sha256(content).hexdigest()
                bench.execute(f"UPDATE {table} SET hash = ?, bytes = ?", (original, len(content)))
                place = os.path.join(folder, kept, original[:2])
                os.makedirs(place)
                with open(os.path.join(place, original + ending), "wb") as file:
                    file.write(content)
            bench.execute("UPDATE photo SET media = 'image/png'")
        bench.close()
        began = time.monotonic()
        soak = Soak(folder)
        try:
            clients = [threading.Thread(target=soak.client, args=(seed,)) for seed in range(CLIENTS)]
            for client in clients:
                client.start()
            for client in clients:
                client.join()
            status, refused, _ = soak.ask("GET", "/door.json")
            assert status == 200 and soak.process.poll() is None, "no longer serving"
        finally:
            soak.process.terminate()
            _, complaints = soak.process.communicate(timeout=60)
        print(f"{soak.done} requests in {time.monotonic() - began:.1f} s; answers {dict(sorted(soak.statuses.items()))}")
        print(f"refused {json.loads(refused)['refused']}")
        print("resident, MiB, after so many requests:", {k: round(v, 1) for k, v in sorted(soak.sizes.items())})
        assert not soak.wrong, "\n".join(soak.wrong[:20])
        assert soak.done == REQUESTS
        assert soak.process.returncode == 0, f"ended with {soak.process.returncode}: {complaints[-3000:]}"
        assert soak.statuses.get(200, 0) > REQUESTS / 4 and soak.statuses.get(303, 0) > REQUESTS / 100, "hardly anything was done"


main()
