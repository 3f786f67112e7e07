#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What independent readers say of the papers: poppler for texts, pages, fonts, pictures and size, zbar for the QR codes.
usage: outside.py SAMPLES-PROGRAM"""
import pathlib
import re
import subprocess
import sys
import tempfile

import numpy


def run(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout.decode()


def text_of(pdf, *options):
    return run("pdftotext", *options, pdf, "-").replace("\u00a0", " ")


def pages_of(pdf):
    return text_of(pdf, "-layout").split("\f")[:-1]


def everywhere(folder):
    for pdf in sorted(folder.glob("*.pdf")):
        info = run("pdfinfo", pdf)
        assert re.search(r"Title: +\S", info), info
        width, height = (float(v) for v in re.search(r"Page size: +([\d.]+) x ([\d.]+)", info).groups())
        expected = (612, 792) if re.search(r"letter|large", pdf.name) else (595.276, 841.89)
        assert {round(width), round(height)} == {round(v) for v in expected}, (pdf, info)
        fonts = run("pdffonts", pdf).splitlines()[2:]
        assert fonts and all(re.search(r" yes +yes +", line) for line in fonts), (pdf, fonts)
        for page in pages_of(pdf):
            assert not re.search(r"\b(nan|inf|-nan)\b", page), (pdf, page)
        if "labels" in pdf.name:
            continue
        pages = pages_of(pdf)
        for number, page in enumerate(pages, 1):
            assert f"page {number} of {len(pages)}" in page, (pdf, number)


def report(folder):
    for name in ("report.pdf", "report-letter.pdf"):
        pages = pages_of(folder / name)
        text = " ".join(text_of(folder / name).split())
        for words in ("Ellory Reflex", "Fast speeds uneven", "Shutter before: 9 of 11 marked speeds inside the tolerance, 1 outside, "
                      "1 too close to call", "+0.56 ± 0.07 EV", "The second curtain falls behind", "JCGM 100", "1/1000 s", "OUTSIDE",
                      "the true value lies within it about 95 times in 100", "14.64 EV", "60. Top cover", "STILL OUT",
                      "The flash capacitor may hold a charge", "Light seals of the back", "η κουρτίνα κολλάει", "затвор заедает",
                      "cannot be opened", "Screws 1, 2 and 117"):
            assert words in text, (name, words)
        # The long text stands in the notes of step 3, in the job's notes and with every fifth part; none is cut.
        assert text.count("End of text.") == 2 + 24, text.count("End of text.")
        assert len(re.findall(r"\b\d+\. ", text)) >= 60
        heads = [page for page in pages if re.search(r"no\. +part +size +sat +condition +now +tray", page)]
        rows = [page for page in pages if re.search(r"^ *\d +(screw|click)", page, re.M)]
        assert len(rows) > 3 and heads == rows, "the head of the table of parts is not repeated on each of its pages"
        # Only photographs are pictures: cover, two of step 2, one of step 3 (the same file is one picture a place).
        pictures = run("pdfimages", "-list", folder / name).splitlines()[2:]
        assert len(pictures) == 4 and all(line.split()[8] == "jpeg" for line in pictures), pictures
        assert (folder / name).stat().st_size < 600_000
        assert b"Exif" not in (folder / name).read_bytes()


def bench_sheets(folder):
    apart, together = (text_of(folder / f"{name}.pdf") for name in ("teardown", "together"))
    order = [int(n) for n in re.findall(r"Step (\d+):", apart)]
    assert order == list(range(1, 61)), order
    order = [int(n) for n in re.findall(r"Step (\d+):", together)]
    assert order == list(range(60, 0, -1)), order
    for words in ("Caution: The click ball", "Before closing: does the counter return to S?", "Lubricant: A trace of light grease",
                  "Tighten: snug", "Parts of no step", "2 × screw M1.7, 3.2 mm, from front, under the leatherette: tray 1"):
        assert words in together, words
    assert text_of(folder / "empty-teardown.pdf").count("No step has been noted yet.") == 1
    empty = text_of(folder / "empty.pdf")
    for words in ("Camera not named", "None was noted.", "Shutter: not measured", "Nothing was noted as still to be done."):
        assert words in empty, empty


def words(folder):
    pages = pages_of(folder / "words.pdf")
    text = text_of(folder / "words.pdf", "-layout")
    assert len(pages) > 4
    for letter in "pc":
        found = [int(n) for n in re.findall(rf"\b{letter}(\d{{4}})\b", text)]
        assert found == list(range(4000)), f"{letter}: {len(found)} words, some lost, doubled or out of order"
    table = [page for page in pages if re.search(r"\bc\d{4}\b", page)]
    assert len(table) > 2 and all(re.search(r"first +words +last", page) for page in table)


def pgm(raw):
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
    return numpy.frombuffer(raw, numpy.uint8, offset=head.end()).reshape(int(head.group(2)), -1)


def labels(folder):
    for name, count, diameter, width in (("labels", 50, 30, 210), ("labels-large", 5, 60, 215.9)):
        # One picture a label, as a phone sees it: a page of forty codes is no task for a reader.
        subprocess.run(["pdftoppm", "-r", "300", "-gray", folder / f"{name}.pdf", folder / name], check=True)
        crops = []
        step = diameter + 2.5
        across = int((width - 20 + 2.5) / step)
        left = (width - step * across + 2.5) / 2
        for picture in sorted(folder.glob(f"{name}-?.pgm")):
            ink = pgm(picture.read_bytes())
            for k in range(across * int((ink.shape[0] * 25.4 / 300 - 34 + 2.5) / step)):
                x, y = (round(v * 300 / 25.4) for v in (left + step * (k % across), 24 + step * (k // across)))
                side = round(diameter * 300 / 25.4)
                crop = ink[y:y + side, x:x + side]
                crops.append(folder / f"crop-{picture.stem}-{k}.pgm")
                crops[-1].write_bytes(b"P5 %d %d 255\n" % crop.shape[::-1] + crop.tobytes())
        found = set(subprocess.run(["zbarimg", "-q", "--raw", "-Sdisable", "-Sqrcode.enable", *crops], capture_output=True, text=True).stdout.split())
        expected = {f"http://192.168.1.20:8421/trays/{i + 1}" for i in range(count) if i not in (3, 4)} | {"T4"}
        assert found == expected, expected ^ found
        text = text_of(folder / f"{name}.pdf")
        assert "12345" in text and "Print at 100 %, without scaling" in text
        # The check bar, its end ticks 50 mm apart, at 1200 dpi.
        mm = 1200 / 25.4
        raw = subprocess.run(["pdftoppm", "-r", "1200", "-gray", "-l", "1", "-x", str(int((width - 62) * mm)), "-y", str(int(12.3 * mm)), "-W",
                              str(int(54 * mm)), "-H", str(int(mm)), folder / f"{name}.pdf"], check=True, capture_output=True).stdout
        ink = 1 - pgm(raw) / 255
        on = numpy.flatnonzero(ink.mean(axis=0) > 0.5)
        left, right = on[on < on.mean()].mean(), on[on > on.mean()].mean()
        assert abs((right - left) / mm - 50) < 0.025, (right - left) / mm
    # Two places were used up before, 40 fit a sheet of A4: 38 on the first.
    assert len(re.findall(r"Job 7", pages_of(folder / "labels.pdf")[0])) >= 38 - 1 - 1


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([sys.argv[1], name], check=True)
        for check in (everywhere, report, bench_sheets, words, labels):
            check(folder)
            print(check.__name__, "ok")


main()
