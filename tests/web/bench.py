# SPDX-License-Identifier: GPL-3.0-or-later
"""What the tests of the page share: a bench with something in every table, the real program serving it, a browser's manners."""
import glob
import hashlib
import http.client
import os
import re
import sqlite3
import subprocess
import threading
import urllib.parse


def read(root, path):
    with open(os.path.join(root, path), "rb") as file:
        return file.read()


def fill(folder, root):
    """The newest frozen bench. Its rows name originals that were never there: real ones take their place."""
    os.mkdir(folder)
    newest = max(glob.glob("tests/data/benches/v*.sql", root_dir=root), key=lambda name: int(re.search(r"v(\d+)", name).group(1)))
    with sqlite3.connect(os.path.join(folder, "bench.db")) as bench:
        bench.executescript(read(root, newest).decode())
        for table, kept, ending, content in [("photo", "photos", ".png", read(root, "docs/pictures/by-ear.png")),
                                             ("recording", "recordings", ".wav", read(root, "tests/fuzz/corpus/recording-wav/mono-16.wav"))]:
            original = hashlib.sha256(content).hexdigest()
            bench.execute(f"UPDATE {table} SET hash = ?, bytes = ?", (original, len(content)))
            place = os.path.join(folder, kept, original[:2])
            os.makedirs(place)
            with open(os.path.join(place, original + ending), "wb") as file:
                file.write(content)
        bench.execute("UPDATE photo SET media = 'image/png'")
        bench.execute("UPDATE test SET kind = 'shutter'")  # one has a kind that no page makes
    bench.close()


class Server:
    def __init__(self, program, folder, *options):
        self.process = subprocess.Popen([program, "serve", "--bench", folder, "--port", "0", *options], stdout=subprocess.PIPE,
                                        stderr=subprocess.PIPE, text=True)
        printed = ""
        while "Ctrl-C" not in printed:
            line = self.process.stdout.readline()
            assert line, f"the program ended: {self.process.stderr.read()}"
            printed += line
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)", printed).group(1))
        self.complaints = ""
        self.listener = threading.Thread(target=self.listen, daemon=True)
        self.listener.start()

    def listen(self):
        """A pipe that nobody empties would hold the program up."""
        self.complaints = self.process.stderr.read()

    def resident_mib(self):
        with open(f"/proc/{self.process.pid}/status", encoding="ascii") as about:
            return int(re.search(r"VmRSS:\s+(\d+)", about.read()).group(1)) / 1024

    def stop(self):
        self.process.terminate()
        self.process.wait(timeout=60)
        self.listener.join(timeout=10)
        return self.complaints


class Client:
    """One line kept open, one session; `of`: another client whose session it shares."""

    def __init__(self, port, of=None):
        self.port, self.line = port, http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        if of is None:
            self.cookie, self.token = None, None
            self.cookie = self.ask("GET", "/jobs/new")[2].getheader("Set-Cookie").split(";")[0]
            page = self.ask("GET", "/jobs/new")[1]
            self.token = re.search(rb"name='token' value='([0-9a-f]{64})'", page).group(1).decode()
        else:
            self.cookie, self.token = of.cookie, of.token

    def ask(self, method, target, body=None, kind=None):
        headers = {name: value for name, value in [("Cookie", self.cookie), ("Content-Type", kind)] if value}
        for again in (True, False):
            try:
                self.line.request(method, target, body, headers)
                answer = self.line.getresponse()
                return answer.status, answer.read(), answer
            except (http.client.RemoteDisconnected, BrokenPipeError, ConnectionResetError):
                self.line.close()  # a line that was closed while it was idle
                if not again:
                    raise

    def get(self, target):
        status, body, answer = self.ask("GET", target)
        return status, body.decode("utf-8", "replace"), answer.getheader("Content-Type") or ""

    def post(self, target, fields, multipart=False):
        fields = fields | {"token": self.token}
        if multipart:
            body = b"".join(f'--edge\r\nContent-Disposition: form-data; name="{name}"\r\n\r\n{value}\r\n'.encode() for name, value in
                            fields.items()) + b"--edge--\r\n"
            kind = "multipart/form-data; boundary=edge"
        else:
            body, kind = urllib.parse.urlencode(fields).encode(), "application/x-www-form-urlencoded"
        status, body, answer = self.ask("POST", target, body, kind)
        return status, body.decode("utf-8", "replace"), answer.getheader("Location") or ""


class EachThread:
    """make() once for each thread that asks."""

    def __init__(self, make):
        self.make, self.own = make, threading.local()

    def __call__(self):
        if not hasattr(self.own, "made"):
            self.own.made = self.make()
        return self.own.made
