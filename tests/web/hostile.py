#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Hostile requests against the real program on 127.0.0.1, a bounded number of each: path tricks, wrong hosts, other
sites, missing tokens, oversized and damaged bodies, slow senders. Each is refused with the right status, counted, leaves
no file behind, and the program goes on serving. Usage: hostile.py PROGRAM"""
import json
import os
import re
import socket
import subprocess
import sys
import tempfile
import time

PROGRAM = sys.argv[1]
PATIENCE_S = 2


class Server:
    def __init__(self, folder):
        self.process = subprocess.Popen(
            [PROGRAM, "serve", "--bench", folder, "--port", "0", "--patience", str(PATIENCE_S)],
            stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        printed = ""
        while "Ctrl-C" not in printed:
            line = self.process.stdout.readline()
            assert line, f"the program ended: {self.process.stderr.read()}"
            printed += line
        self.port = int(re.search(r"127\.0\.0\.1:(\d+)", printed).group(1))

    def raw(self, data, timeout=10, ends=False):
        """Everything the server answers to these bytes, until it closes; ends: the sender breaks off after them."""
        with socket.create_connection(("127.0.0.1", self.port), timeout=timeout) as line:
            answer = b""
            try:
                line.sendall(data)
                if ends:
                    line.shutdown(socket.SHUT_WR)
                while piece := line.recv(65536):
                    answer += piece
            except (ConnectionResetError, BrokenPipeError):
                pass
            return answer

    def request(self, method, target, headers=None, body=b"", host=None):
        lines = [f"{method} {target} HTTP/1.1", "Connection: close"]
        if host is not False:
            lines.append(f"Host: {host or f'127.0.0.1:{self.port}'}")
        lines += [f"{name}: {value}" for name, value in (headers or {}).items()]
        if body or method == "POST":
            lines.append(f"Content-Length: {len(body)}")
        return Answer(self.raw("\r\n".join(lines).encode() + b"\r\n\r\n" + body))

    def refused(self):
        return json.loads(self.request("GET", "/door.json").body)["refused"]

    def session(self):
        page = self.request("GET", "/jobs/new")
        cookie = re.search(rb"cw_session=[0-9a-f]{64}", page.whole).group(0).decode()
        again = self.request("GET", "/jobs/new", {"Cookie": cookie})
        token = re.search(rb"name='token' value='([0-9a-f]{64})'", again.body).group(1).decode()
        return cookie, token


class Answer:
    def __init__(self, whole):
        self.whole = whole
        head, _, self.body = whole.partition(b"\r\n\r\n")
        self.status = int(head.split(b" ", 2)[1]) if head.startswith(b"HTTP/1.") else 0
        self.head = head.decode("latin-1").lower()


def counted(server, reason, run):
    before = server.refused()[reason]
    run()
    after = server.refused()[reason]
    assert after > before, f"refused for {reason}, but not counted"


def paths(server):
    tricks = ["/../../etc/passwd", "/photos/../door.json", "/photos/%2e%2e/%2e%2e/etc/passwd", "/photos/..%2f..%2fbench.db",
              "/assets/x/..%5c..%5cbench.db", "/photos/%00", "/photos/1%0d%0aSet-Cookie:%20a=b/small", "//etc/passwd",
              "/assets/../../bench.db", "/" + "a/" * 40, "/photos/%ff%fe"]

    def run():
        for trick in tricks:
            answer = server.request("GET", trick)
            assert answer.status == 422, (trick, answer.status)
            assert b"root:" not in answer.whole and b"SQLite" not in answer.whole, trick
            assert "set-cookie: a=b" not in answer.head, trick
    counted(server, "bad-address", run)
    for missing in ["/bench.db", "/door", "/assets/x/bench.db", "/photos/99999/original", "/jobs/0", "/jobs/-1"]:
        assert server.request("GET", missing).status in (200, 404), missing
    assert server.request("GET", "/" + "a" * 200000).status in (0, 414, 431)


def hosts(server):
    def run():
        for host in ["evil.example", f"evil.example:{server.port}", "127.0.0.1", f"127.0.0.1:{server.port}.evil.example",
                     f"127.0.0.1:{server.port}@evil.example", "localhost:1", ""]:
            answer = server.request("GET", "/", host=host or " ")
            assert answer.status in (400, 403), (host, answer.status)
            assert "set-cookie" not in answer.head, host
        assert server.request("GET", "/", host=False).status in (400, 403)
    counted(server, "host", run)
    assert server.request("GET", "/", host=f"localhost:{server.port}").status == 200


def other_sites(server):
    cookie, token = server.session()
    form = f"token={token}&camera=Stolen".encode()
    typed = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}

    def run():
        for extra in [{"Origin": "http://evil.example"}, {"Origin": "null"}, {"Origin": f"https://127.0.0.1:{server.port}"},
                      {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}]:
            assert server.request("POST", "/jobs/new", typed | extra, form).status == 403, extra
        read = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "no-cors"}
        assert server.request("GET", "/jobs.json", read).status == 403
    counted(server, "origin", run)

    def untrusted():
        for bad in [b"camera=Stolen", b"token=&camera=Stolen", b"token=" + b"0" * 64 + b"&camera=Stolen"]:
            answer = server.request("POST", "/jobs/new", typed, bad)
            assert answer.status == 403, bad
            assert b"value='Stolen'" in answer.body, "what was typed is lost"
        other, _ = server.session()
        assert server.request("POST", "/jobs/new", typed | {"Cookie": other}, form).status == 403
    counted(server, "token", untrusted)
    assert json.loads(server.request("GET", "/jobs.json").body)["total"] == 0
    assert server.request("POST", "/jobs/new", typed | {"Origin": f"http://127.0.0.1:{server.port}"}, form).status == 303


def methods(server):
    def run():
        for method in ["PUT", "DELETE", "PATCH", "OPTIONS", "BREW"]:
            assert server.request(method, "/jobs/new", {"Content-Type": "x"}, b"x").status in (400, 405, 422), method
    counted(server, "method", run)
    assert server.request("HEAD", "/").body == b""


def multipart(fields, boundary="edge"):
    parts = b""
    for name, filename, value in fields:
        where = f'; filename="{filename}"' if filename is not None else ""
        parts += f'--{boundary}\r\nContent-Disposition: form-data; name="{name}"{where}\r\n\r\n'.encode() + value + b"\r\n"
    return parts + f"--{boundary}--\r\n".encode()


def bodies(server, folder):
    cookie, token = server.session()
    plain = {"Cookie": cookie, "Content-Type": "application/x-www-form-urlencoded"}
    files = {"Cookie": cookie, "Content-Type": "multipart/form-data; boundary=edge"}
    said = token.encode()

    def too_large():
        assert server.request("POST", "/jobs/new", plain, b"token=" + said + b"&camera=" + b"x" * 70000).status == 413
        assert server.request("POST", "/jobs/new", plain, b"token=" + said + b"&a=1" * 3000).status == 413
        assert server.request("POST", "/jobs/new", plain, b"x" * 2_000_000).status == 413
        many = multipart([("photo", f"{i}.jpg", b"x") for i in range(40)])
        assert server.request("POST", "/jobs/1/photos", files, many).status == 413
        # announced far too large: answered before anything of it is read
        head = f"POST /jobs/new HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nContent-Length: 99999999999\r\n" \
               "Content-Type: application/x-www-form-urlencoded\r\nConnection: close\r\n\r\n"
        assert Answer(server.raw(head.encode())).status == 413
    counted(server, "too-large", too_large)

    damaged = [(files, b"no boundary at all"), (files, multipart([("token", None, said)])[:-20]),
               (files | {"Content-Type": "multipart/form-data"}, b"--x--"), (plain | {"Content-Type": "text/plain"}, b"a=1"),
               (files, multipart([("token", None, said), ("photo", "a.jpg", b"this is no picture")])),
               (files, multipart([("token", None, said), ("photo", "../../../evil.jpg", b"\xff\xd8\xff\xe0broken")])),
               (plain, b"token=" + said + b"&camera=%00"), (plain, b"token=" + said + b"&camera=%ff")]
    for headers, body in damaged:
        for target in ["/jobs/1/photos", "/recordings", "/jobs/new"]:
            status = server.request("POST", target, headers, body).status
            assert 400 <= status < 500 or (target == "/recordings" and status == 303), (target, headers, body[:40], status)
    # cut off half way through a file, and not even a head
    for _ in range(5):
        server.raw(f"POST /recordings HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nCookie: {cookie}\r\nContent-Length: 5000000\r\n"
                   "Content-Type: multipart/form-data; boundary=edge\r\n\r\n".encode() + multipart([("recording", "a.wav", b"x" * 9000)])[:5000], ends=True)
        server.raw(os.urandom(500), ends=True)
    server.raw(b"GET / HT", ends=True)
    deadline = time.monotonic() + 10
    incoming = os.path.join(folder, "incoming")
    while os.path.isdir(incoming) and os.listdir(incoming) and time.monotonic() < deadline:
        time.sleep(0.1)
    assert not os.path.isdir(incoming) or not os.listdir(incoming), f"left behind: {os.listdir(incoming)}"
    assert not os.path.exists(os.path.join(os.path.dirname(folder), "evil.jpg"))


def slow(server):
    def run():
        lines = [socket.create_connection(("127.0.0.1", server.port), timeout=30) for _ in range(8)]
        for line in lines[:4]:
            line.sendall(b"GET / HTTP/1.1\r\nX: ")
        for line in lines[4:]:
            line.sendall(f"POST /jobs/new HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\nContent-Length: 5000\r\n"
                         "Content-Type: application/x-www-form-urlencoded\r\n\r\n".encode())
        open_lines, until = set(lines), time.monotonic() + 30
        while open_lines and time.monotonic() < until:
            assert server.request("GET", "/").status == 200, "slow senders hold the others up"
            for line in list(open_lines):
                try:
                    line.sendall(b"x")
                    line.settimeout(0.01)
                    if line.recv(4096) == b"":
                        open_lines.discard(line)
                except TimeoutError:
                    pass
                except OSError:
                    open_lines.discard(line)
            time.sleep(0.1)
        for line in lines:
            line.close()
        assert not open_lines, f"{len(open_lines)} slow senders are still connected"
    counted(server, "slow", run)


def main():
    with tempfile.TemporaryDirectory() as outer:
        folder = os.path.join(outer, "bench")
        server = Server(folder)
        try:
            for name, run in [("paths", paths), ("hosts", hosts), ("other sites", other_sites), ("methods", methods),
                              ("bodies", lambda s: bodies(s, folder)), ("slow senders", slow)]:
                run(server)
                assert server.request("GET", "/").status == 200, f"no longer serving after {name}"
                print(f"ok  {name}")
        finally:
            server.process.terminate()
            out, complaints = server.process.communicate(timeout=30)
        assert server.process.returncode == 0, f"ended with {server.process.returncode}: {complaints[-3000:]}"
        assert "refused: " in out, "the refusals were not said at the end"
        print(out.strip())


main()
