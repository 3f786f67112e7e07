#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Walks the pages of a bench as a reader whose catalogue puts every text between marks, and counts what shows without:
what cannot be translated. Then as a reader with comma, inches and own dates, and holds JSON and paper to staying plain.

Usage: translated.py CAMERAWRIGHT SIM        needs nothing but Python; the bench is made here."""
import html.parser
import json
import os
import re
import subprocess
import sys
import tempfile
import time
import urllib.parse
import urllib.request

program, sim = (os.path.abspath(p) for p in sys.argv[1:3])
passed = failed = 0


def check(good, what):
    global passed, failed
    if good:
        passed += 1
    else:
        failed += 1
        print(f"[  FAILED  ] {what}")


class Page(html.parser.HTMLParser):
    """Texts a person reads (with the text of inline elements in place) and where the links go."""

    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.texts, self.links, self.skip = [], [], 0
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        if tag in ("script", "style", "svg", "title", "code", "datalist"):
            self.skip += tag not in ("meta",)
        for name, value in attrs:
            if name == "href" and value:
                self.links.append(value)
            if name in ("aria-label", "alt", "placeholder") and value and not self.skip:
                self.texts.append(value)

    def handle_endtag(self, tag):
        if tag in ("script", "style", "svg", "title", "code", "datalist"):
            self.skip -= 1

    def handle_data(self, data):
        if not self.skip and re.search(r"[A-Za-z]{2}", data):
            self.texts.append(data.strip())


def run(*args):
    return subprocess.run([program, *args], check=True, capture_output=True, text=True).stdout


scratch = tempfile.TemporaryDirectory()
bench = os.path.join(scratch.name, "bench")
subprocess.run([sim, "demo", scratch.name], check=True, capture_output=True)
run("job", "new", "--bench", bench, "--camera", "Qqcamera", "--shutter", "leaf", "--complaint", "qqcomplaint")
run("step", "add", "--bench", bench, "1", "Qqstep", "--came-off", "qqpart", "--parts", "3 qqscrews into tray 2; qqspring tray 2")
run("shutter", os.path.join(scratch.name, "tarnbrook-35-before.wav"), "--shutter", "leaf", "--beam", "diffuse", "--contact-channel", "2",
    "--marked-list", "1,1/2,1/4,1/8,1/15,1/30,1/60,1/125,1/250,1/500", "--shots-per-speed", "3", "--bench", bench, "--job", "1",
    "--when", "before")
server = subprocess.Popen([program, "serve", "--bench", bench, "--port", "0"], stdout=subprocess.PIPE, text=True)
address = None
for line in server.stdout:
    if "laptop:" in line:
        address = line.split()[1].rstrip("/")
        break


class Stay(urllib.request.HTTPRedirectHandler):
    def redirect_request(self, *_):
        return None


def get(path, reader, language=None):
    headers = {"Cookie": f"cw_reader={reader}"} if reader else {}
    if language:
        headers["Accept-Language"] = language
    request = urllib.request.Request(address + path, headers=headers)
    with urllib.request.build_opener(Stay).open(request, timeout=60) as answer:
        return answer.headers.get_content_type(), answer.read()


try:
    # ---- marks ----
    seen, wait, marked, bare = set(), ["/", "/measure", "/worksheets", "/settings", "/door", "/jobs/new", "/tools", "/search?q=qqscrew"], 0, {}
    while wait and len(seen) < 220:
        path = wait.pop(0)
        if path in seen:
            continue
        seen.add(path)
        try:
            kind, body = get(path, "marks.auto.auto.auto")
        except urllib.error.HTTPError as error:
            check(error.code in (303, 404), f"{path}: {error.code}")
            continue
        if kind != "text/html":
            continue
        page = Page(body.decode())
        for text in page.texts:
            if "\u27e6" in text:
                marked += 1
            elif not re.search(r"[Qq]q|^M?\d|Camerawright|tarnbrook|Deutsch", text):
                bare.setdefault(text, path)
        for link in page.links:
            target = urllib.parse.urljoin(path, link)
            plain = target.split("#")[0]
            if plain.startswith("/") and not re.search(r"\.(pdf|zip|svg|dxf|stl|png|json|wav)\b|/assets/|/original|/small|/middle", plain):
                wait.append(plain)
    pages = len(seen)
    share = marked / (marked + len(bare)) if marked else 0
    print(f"{pages} pages, {marked} texts translated, {len(bare)} different ones not: {100 * share:.1f} %")
    if "--list" in sys.argv:
        for text, path in sorted(bare.items(), key=lambda item: item[1]):
            print(f"  {path}: {text[:110]!r}")
    check(pages > 60, "the walk reached the pages")
    check(share > 0.96, f"of all texts that were shown {100 * share:.1f} % can be translated; 96 % at least")

    # ---- numbers, lengths, dates ----
    sheet = "/worksheets/flat-wrench?" + urllib.parse.urlencode({"span": "23,4", "slot-width": "1,2", "slot-depth": "0,8", "reach": "6", "plate": "2"})
    plain = get(sheet, None)[1].decode()
    comma = get(sheet, "en.comma.mm.plain")[1].decode()
    inches = get(sheet, "en.point.in.plain")[1].decode()
    by_language = get(sheet, None, "de-DE,de;q=0.9,en;q=0.5")[1].decode()
    numbers = lambda text: re.findall(r">(\d+[.,]\d+)(?: \u00b1 [\d.,]+)? (mm|in|N mm|N m|EV|MPa)<", text)
    check(any("." in n for n, _ in numbers(plain)) and not any("," in n for n, _ in numbers(plain)), f"plain: {numbers(plain)}")
    check(any("," in n for n, _ in numbers(comma)) and not any("." in n for n, _ in numbers(comma)), f"comma: {numbers(comma)}")
    check(numbers(by_language) == numbers(comma), "a German browser has its comma unasked")
    mm = [float(n) for n, unit in numbers(plain) if unit == "mm"]
    inch = [float(n) for n, unit in numbers(inches) if unit == "in"]
    check(len(mm) > 0 and len(mm) == len(inch) and not [u for _, u in numbers(inches) if u == "mm"], f"inches: {mm} {inch}")
    # 1 in = 25.4 mm exactly; three figures are shown
    check(all(abs(i * 25.4 - m) <= 0.02 * m for m, i in zip(mm, inch)), f"inches: {mm} {inch}")
    twin = sheet.replace("flat-wrench?", "flat-wrench.json?")
    check(get(twin, None)[1] == get(twin, "de.comma.in.day")[1], "JSON is plain whatever the reader has chosen")
    settings = json.loads(get("/settings.json", "de.comma.in.day")[1])
    check(settings["written"] == {"language": "de", "decimal": ",", "length": "in"}, f"settings: {settings}")
    svg = sheet.replace("flat-wrench?", "flat-wrench/template.svg?")
    check(get(svg, None) == get(svg, "de.comma.in.day"), "a drawing to keep is plain whatever the reader has chosen")

    today = time.strftime("%Y-%m-%d")
    history = get("/jobs/1/history", "en.point.mm.day")[1].decode()
    check(today not in Page(history).texts and not any(today in t for t in Page(history).texts), "the history's dates are the reader's")

    # ---- German: what a calculation wrote, on the page, the command line and paper ----
    test, twin_of_test = "/tests/1", "/tests/1.json"
    german = get(test, "de.auto.auto.auto")[1].decode()
    english = get(test, None)[1].decode()
    check("The camera's own service notes go first" in html.unescape(english), "the test has a finding in English")
    check("Die Serviceunterlagen der Kamera gehen vor" in html.unescape(german), "the finding is German on the page")
    check("service notes go first" not in german and "Look first" not in german, "and no finding is left in English")
    check(re.search(r"\d,\d+ EV", german) and not re.search(r"\d\.\d+ EV", german), "with a decimal comma unasked")
    check(get(twin_of_test, None)[1] == get(twin_of_test, "de.comma.in.day")[1], "the JSON twin of a test stays English")
    try:
        get("/jobs/999", "de.auto.auto.auto")
    except urllib.error.HTTPError as error:
        page = html.unescape(error.read().decode())
        check("Nicht gefunden" in page or "gibt es" in page, f"an error page in German: {page[-600:]}")
    in_german = dict(os.environ, LANG="de_DE.UTF-8", LC_ALL="", LANGUAGE="")
    recording = [os.path.join(scratch.name, "tarnbrook-35-before.wav"), "--shutter", "leaf", "--beam", "diffuse", "--contact-channel", "2",
                 "--marked-list", "1,1/2,1/4,1/8,1/15,1/30,1/60,1/125,1/250,1/500", "--shots-per-speed", "3"]
    shown = lambda env, *args: subprocess.run([program, "shutter", *args], env=env, capture_output=True, text=True)
    told = shown(in_german, *recording).stdout
    check("Befunde" in told and "Serviceunterlagen" in told and "Findings" not in told, f"LANG: {told[-1500:]}")
    check(shown(in_german, *recording, "--json").stdout == shown(dict(os.environ, LC_ALL="C"), *recording, "--json").stdout, "--json is the same in German")
    refused = shown(in_german, "no-such-file.wav", "--marked", "1/250")
    check(refused.returncode == 2 and "no-such-file.wav" in refused.stderr and "l\u00e4sst sich nicht" in refused.stderr, f"an error in German: {refused.stderr}")
    paper = os.path.join(scratch.name, "bericht.pdf")
    subprocess.run([program, "report", "1", "--out", paper, "--bench", bench], env=in_german, check=True, capture_output=True)
    words = subprocess.run(["pdftotext", "-layout", paper, "-"], capture_output=True, text=True).stdout
    check("Kurz gesagt" in words and "Befunde" in words and "Serviceunterlagen" in words, f"the report on paper: {words[:800]}")

    for nonsense in ("xx.yy.zz", "....", "de.comma", "de.comma.in.day.more", "a" * 5000, "%00.%00", "marks;;;"):
        check(get("/settings", nonsense)[0] == "text/html", f"cookie {nonsense[:20]!r}")
finally:
    server.terminate()
    server.wait(timeout=20)
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed else 0)
