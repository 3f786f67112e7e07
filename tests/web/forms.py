#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every form of every page with bad input in every field, against the real program on 127.0.0.1: pages are found by walking the
links of a bench with something in everything; each field is sent empty, missing, very long, with control characters, emoji, markup
and quotes, and as numbers and days that cannot be, the others as they stand. An answer is a refusal in words (4xx) whose page
keeps what was typed, or it did what was asked (200, 303): then what was typed is on the bench as it was typed. Nothing is ever a
failure of the program, and markup that was typed never reaches a page as markup. Usage: forms.py PROGRAM SOURCE-ROOT [-v]"""
import collections
import concurrent.futures
import html.parser
import os
import re
import sqlite3
import sys
import tempfile
import time
import urllib.parse

sys.dont_write_bytecode = True
import bench  # noqa: E402, beside this file

CLIENTS = 4
EACH_PATTERN = 2  # pages of one kind that are looked at
LAST = ("/delete", "/drop", "/discard", "/end", "/undo", "/redo", "/split", "/import")  # what takes away comes last


class Form:
    def __init__(self, page, attributes):
        self.page, self.method = page, attributes.get("method", "get").lower()
        self.action = urllib.parse.urljoin(page, attributes.get("action") or page)
        self.multipart = attributes.get("enctype") == "multipart/form-data"
        self.fields = collections.OrderedDict()  # name: (kind, value)
        self.buttons = []                        # the first is pressed

    def add(self, name, kind, value):
        if name and (name not in self.fields or kind == "chosen"):
            self.fields[name] = ("choice" if kind == "chosen" else kind, value)

    def kind(self):
        """Forms alike but for numbers in the address are one kind."""
        return self.method, pattern(self.action), tuple(sorted(re.sub(r"\d+", "#", name) for name in self.fields))


def pattern(address):
    path, _, query = address.partition("?")
    path = re.sub(r"/worksheets/[a-z0-9-]+", "/worksheets/*", re.sub(r"\d+", "#", path))
    return path + "?" + "&".join(sorted({part.partition("=")[0] for part in query.split("&") if part}))


class Page(html.parser.HTMLParser):
    """Links and forms of a page. Everything it shows is in `text`, every tag in `tags`."""

    def __init__(self, address, body):
        super().__init__(convert_charrefs=True)
        self.address, self.links, self.forms, self.text, self.tags = address, [], [], [], collections.Counter()
        self.by_id, self.form, self.area, self.select = {}, None, None, None
        self.feed(body)

    def handle_starttag(self, tag, pairs):
        has = dict(pairs)
        self.tags[tag] += 1
        if tag == "a" and has.get("href", "").startswith("/"):
            self.links.append(has["href"])
        elif tag == "form":
            self.form = Form(self.address, has)
            self.forms.append(self.form)
            self.by_id[has.get("id")] = self.form
        to = self.by_id.get(has.get("form")) or self.form
        if to is None:
            return
        kind = has.get("type", "text")
        if tag == "input" and kind in ("radio", "checkbox"):
            to.add(has.get("name"), "chosen" if "checked" in has else "choice", has.get("value", "on"))
        elif tag == "input" and kind == "file":
            to.add(has.get("name"), "file", "")
        elif tag == "input":
            to.add(has.get("name"), "hidden" if kind in ("hidden", "image") else "text", has.get("value", ""))
        elif tag == "textarea":
            self.area = (to, has.get("name"), [])
        elif tag == "select":
            self.select = (to, has.get("name"))
        elif tag == "option" and self.select:
            self.select[0].add(self.select[1], "chosen" if "selected" in has else "choice", has.get("value", ""))
        elif tag == "button":
            to.buttons.append((has.get("name"), has.get("value", "")))

    def handle_endtag(self, tag):
        if tag == "form":
            self.form = None
        elif tag == "select":
            self.select = None
        elif tag == "textarea" and self.area:
            to, name, pieces = self.area
            to.add(name, "text", "".join(pieces).removeprefix("\n"))
            self.area = None

    def handle_data(self, data):
        if self.area:
            self.area[2].append(data)
        self.text.append(data)

    def holds(self, name, value):
        return any(form.fields.get(name, ("", None))[1] == value for form in self.forms)


def bad_inputs(mark):
    """What is sent, and whether it can be kept as it is by a field for words. `mark` tells it from all others."""
    return [("empty", "", False), ("missing", None, False), ("spaces", "   ", False), ("long", f"{mark} " + "x" * 10000, True),
            ("control", f"{mark}\x01\x1b[31m\x07", False), ("emoji", f"{mark} \U0001f4f7\U0001f3fd ʞɔɐq", True),
            ("markup", f"<b id='{mark}'>\"&amp;</textarea><script>x</script>", True), ("quotes", f"{mark}'); DROP TABLE job; -- \\", True),
            ("negative", "-37.25", False), ("vast", "1e308", False), ("no number", "nan", False), ("wrong day", "2026-13-45", False)]


def walk(client):
    """Forms by kind, from all pages that links lead to."""
    waiting, seen, looked, found = collections.deque(["/"]), {"/"}, collections.Counter(), collections.OrderedDict()
    while waiting:
        address = waiting.popleft()
        if looked[pattern(address)] >= EACH_PATTERN:
            continue
        looked[pattern(address)] += 1
        status, body, kind = client.get(address)
        assert status in (200, 422), (address, status)  # a trace of a recording that has none says so
        if not kind.startswith("text/html"):
            continue
        page = Page(address, body)
        for link in page.links:
            link = link.partition("#")[0]
            if link not in seen and not re.search(r"\.(pdf|zip|json|svg|dxf|stl|png|md|wav)\b|/original|/small|/middle|/large|^/assets", link):
                seen.add(link)
                waiting.append(link)
        for form in page.forms:
            found.setdefault(form.kind(), form)
    return looked, list(found.values())


class Trial:
    def __init__(self, form, field, name, sent, words, mark):
        self.form, self.field, self.name, self.sent, self.words, self.mark = form, field, name, sent, words, mark
        self.status, self.where, self.complaint = 0, "", None

    def __str__(self):
        return f"{self.form.method} {self.form.action} (on {self.form.page}), {self.field} {self.name}: {self.status}"

    def fields(self):
        sent = {name: value for name, (_, value) in self.form.fields.items()}
        for name, value in self.form.buttons[:1]:
            if name:
                sent[name] = value
        if "revision" in sent:
            sent["revision"] = "0"  # whatever is there: others of these change it too
        if self.form.action == "/live/begin":
            sent["port"] = "/not/there"
        sent[self.field] = self.sent
        return {name: value for name, value in sent.items() if value is not None}

    def run(self, client):
        if self.form.method == "get":
            self.status, body, _ = client.get(self.form.action.partition("?")[0] + "?" + urllib.parse.urlencode(self.fields()))
        else:
            self.status, body, self.where = client.post(self.form.action, self.fields(), self.form.multipart)
        if self.status >= 500 or self.status in (0, 403):
            self.complaint = "failed"
        elif self.status != 303:
            self.look(Page(self.form.page, body), body)

    def look(self, page, body):
        if f"<b id='{self.mark}'>" in body:
            self.complaint = "markup reached the page"
        typed = self.form.fields[self.field][0] == "text" and self.sent is not None and self.name != "control"
        gone = not any(pattern(form.action) == pattern(self.form.action) for form in page.forms)
        gone = gone and (self.status in (404, 409) or self.form.action == "/live/begin")  # a row taken away, a live test under way
        if self.status in range(400, 500) and self.status != 413 and self.form.method == "post" and not gone:
            if typed and not page.holds(self.field, self.sent.strip()) and not page.holds(self.field, self.sent):
                self.complaint = "what was typed is lost"
            for name, (kind, value) in self.form.fields.items():
                if kind == "text" and name != self.field and value and not page.holds(name, value):
                    self.complaint = f"{name} is lost"


def on_bench(folder):
    """Every text of the bench in one, with the history of changes: what was written over since is in it."""
    everything = []
    db = sqlite3.connect(f"file:{folder}/bench.db?mode=ro", uri=True)
    for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'words%'").fetchall():
        for row in db.execute(f'SELECT * FROM "{name}"'):
            everything += [value.encode() if isinstance(value, str) else value for value in row if isinstance(value, (str, bytes))]
    db.close()
    return b"\0".join(everything)


def main():
    verbose = "-v" in sys.argv
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as outer:
        folder = os.path.join(outer, "bench")
        bench.fill(folder, sys.argv[2])
        server = bench.Server(sys.argv[1], folder)
        try:
            client = bench.Client(server.port)
            looked, forms = walk(client)
            forms.sort(key=lambda form: form.action.partition("?")[0].endswith(LAST))
            trials = []
            for number, form in enumerate(forms):
                for at, (field, (kind, _)) in enumerate(form.fields.items()):
                    if field in ("token", "port") or kind == "file":  # a port that is there would begin a live test
                        continue
                    mark = f"m{number}f{at}q"
                    trials += [Trial(form, field, name, sent, words, mark + name[0] + str(i)) for i, (name, sent, words) in
                               enumerate(bad_inputs(mark + "w")) if kind == "text" or name in ("missing", "markup", "negative")]
            assert len(looked) > 50 and len(forms) > 60, (len(looked), len(forms))
            calm = [trial for trial in trials if not trial.form.action.partition("?")[0].endswith(LAST)]
            with concurrent.futures.ThreadPoolExecutor(CLIENTS) as pool:
                own = bench.EachThread(lambda: bench.Client(server.port, client))
                list(pool.map(lambda trial: trial.run(own()), calm))
                kept = on_bench(folder)
                list(pool.map(lambda trial: trial.run(own()), [trial for trial in trials if trial not in calm]))
            for trial in calm:
                if trial.status == 303 and trial.words and trial.form.fields[trial.field][0] == "text" and trial.sent.strip().encode() not in kept:
                    trial.complaint = trial.complaint or "taken, but it is not on the bench"
            assert client.get("/")[0] == 200
        finally:
            complaints = server.stop()
        answers = collections.Counter(trial.status for trial in trials)
        print(f"{sum(looked.values())} pages of {len(looked)} kinds, {len(forms)} forms, {len(trials)} bad inputs in "
              f"{time.monotonic() - began:.1f} s; answers {dict(sorted(answers.items()))}")
        wrong = [trial for trial in trials if trial.complaint]
        for trial in wrong if verbose else wrong[:20]:
            print(f"{trial.complaint}: {trial}")
        assert not wrong, f"{len(wrong)} answers are wrong"
        assert server.process.returncode == 0, f"ended with {server.process.returncode}: {complaints[-3000:]}"


main()
