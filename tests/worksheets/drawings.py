#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every worksheet of the program that draws: its PDF measured at 1200 dpi, its DXF read by ezdxf, its body held watertight by
admesh and numpy-stl. The sheets are asked of the program, not listed here.  usage: drawings.py CAMERAWRIGHT"""
import json
import os
import pathlib
import re
import subprocess
import sys
import tempfile
import warnings

warnings.filterwarnings("ignore")
import ezdxf  # noqa: E402
import ezdxf.bbox  # noqa: E402
import numpy  # noqa: E402
import stl.mesh  # noqa: E402

DPI = 1200
MM = DPI / 25.4
program = str(pathlib.Path(sys.argv[1]).resolve())


def run(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


def names():
    text = run(program, "sheets").decode()
    found = re.findall(r"^  ([a-z0-9-]+) ", text, re.M)  # a group's name stands at the margin, its sheets two in
    assert len(found) > 50, text
    return found


def window(pdf, x_mm, y_mm, w_mm, h_mm, every=1):
    """Grey values, 0 black to 255 white, of a window of the first page; of its rows each `every`th."""
    raster = pdf.with_suffix("")
    run("pdftoppm", "-r", str(DPI), "-gray", "-f", "1", "-singlefile", "-x", str(round(x_mm * MM)), "-y", str(round(y_mm * MM)),
        "-W", str(round(w_mm * MM)), "-H", str(round(h_mm * MM)), str(pdf), str(raster))
    path = raster.with_suffix(".pgm")  # by a file that is looked into: a whole page is a hundred million values
    with open(path, "rb") as stream:
        head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", stream.read(40))
    width, height = int(head.group(1)), int(head.group(2))
    grey = numpy.array(numpy.memmap(path, numpy.uint8, "r", head.end(), (height, width))[::every])
    path.unlink()
    return grey


def ink(pdf, *place):
    """Ink, 0 to 1, of a small window."""
    return 1 - window(pdf, *place) / 255.0


def places(profile, least):
    """Middles, in mm, of what stands above `least` in a profile."""
    on = profile > least
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate([[0], on.astype(int), [0]])))
    return [(numpy.arange(a, b) + 0.5) @ profile[a:b] / profile[a:b].sum() / MM for a, b in zip(edges[::2], edges[1::2])]


def page(pdf):
    """Width and height of the page, mm, and how many there are."""
    info = run("pdfinfo", pdf).decode()
    width, height = re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info).groups()
    return float(width) / 72 * 25.4, float(height) / 72 * 25.4, int(re.search(r"Pages:\s+(\d+)", info).group(1))


def upright_cuts(document):
    """Upright cut lines of the drawing, longest first: x and length, mm."""
    lines = []
    for entity in document.modelspace():
        if entity.dxf.layer != "CUT":
            continue
        if entity.dxftype() == "LINE":
            points = [entity.dxf.start, entity.dxf.end]
        elif entity.dxftype() == "POLYLINE":
            points = [vertex.dxf.location for vertex in entity.vertices]
            points += points[:1] if entity.is_closed else []
        else:
            continue
        for a, b in zip(points, points[1:]):
            if abs(a[0] - b[0]) < 1e-6:
                lines.append((abs(a[1] - b[1]), a[0]))
    return sorted(lines, reverse=True)


def check_bars(name, pdf, width, height):
    level = places(ink(pdf, 9, height - 22.9, 53, 0.6).sum(axis=0), 0.5 * 0.6 * MM)
    assert len(level) == 2 and abs(level[1] - level[0] - 50) < 0.025, (name, "level check bar", level)
    upright = places(ink(pdf, width - 16.9, height - 81, 0.6, 54).sum(axis=1), 0.5 * 0.6 * MM)
    assert len(upright) == 2 and abs(upright[1] - upright[0] - 50) < 0.025, (name, "upright check bar", upright)


def cuts_true(name, pdf, width, height, document):
    """The two longest upright cut lines that stand apart, found on the paper by their ink and as far apart there."""
    lines = upright_cuts(document)
    pairs = [(a, b) for a in lines for b in lines if abs(a[1] - b[1]) > 8 and a[0] > 4 and b[0] > 4]
    if not pairs:
        return None
    dark = window(pdf, 10, 10, width - 28, height - 60, every=4) < 0.6 * 255  # every fourth row: x stays as fine
    in_column = numpy.count_nonzero(dark, axis=0)
    tried = []
    # a line may be crossed out by another that ends beside it: a few pairs are tried, longest first
    for (long_a, xa), (long_b, xb) in sorted(pairs, key=lambda pair: -min(pair[0][0], pair[1][0]))[:8:2]:
        truth = abs(xa - xb)
        run_length = int(0.8 * min(long_a, long_b) * MM / 4)  # an upright line is a long run of ink in its column
        columns = numpy.flatnonzero(in_column >= 0.98 * run_length)  # the others have not that much ink in all
        total = numpy.zeros((dark.shape[0] + 1, len(columns)), numpy.int32)
        dark[:, columns].cumsum(axis=0, dtype=numpy.int32, out=total[1:])
        lines_at = numpy.zeros(dark.shape[1])
        lines_at[columns] = (total[run_length:] - total[:-run_length]).max(axis=0) >= 0.98 * run_length
        found = places(lines_at, 0.5)
        apart = [abs(b - a) for i, a in enumerate(found) for b in found[i + 1:]]
        best = min(apart, key=lambda value: abs(value - truth), default=float("inf"))
        if abs(best - truth) <= 0.0005 * max(truth, 50):
            return truth, best
        tried.append((truth, best))
    raise AssertionError((name, "between cut lines", tried))


def check_dxf(name, path):
    document = ezdxf.readfile(path)
    auditor = document.audit()
    assert not auditor.errors and not auditor.fixes, (name, auditor.errors, auditor.fixes)
    assert len(document.modelspace()) > 0, name
    return document


def check_stl(name, path):
    said = run("admesh", str(path)).decode()
    for what in ("Total disconnected facets", "Degenerate facets", "Backwards edges", "Facets reversed", "Edges fixed"):
        value = re.search(what + r"\s*:\s*(\d+)", said)
        assert value and int(value.group(1)) == 0, (name, what, said)
    body = stl.mesh.Mesh.from_file(str(path))
    edges = [(tuple(t[i]), tuple(t[(i + 1) % 3])) for t in body.vectors.tolist() for i in range(3)]
    assert len(set(edges)) == len(edges) and {(b, a) for a, b in edges} == set(edges), f"{name} is not closed"
    a, b, c = (body.vectors[:, i].astype(float) for i in range(3))
    volume = (a * numpy.cross(b, c)).sum() / 6
    assert volume > 0, (name, volume)


def main():
    drawn = bodies = measured = 0
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(scratch)
        for name in names():
            outputs = json.loads(run(program, name, "--example", "--json"))["outputs"]
            if outputs == {} or True not in [value for value in outputs.values() if isinstance(value, bool)]:
                continue
            pdf, dxf, body = (folder / f"{name}{ending}" for ending in (".pdf", ".dxf", ".stl"))
            run(program, name, "--example", "--out", str(pdf))
            text = run("pdftotext", "-layout", str(pdf), "-").decode()
            assert "Print at 100 %, without scaling." in text and "50 mm" in text, name
            width, height, pages = page(pdf)
            check_bars(name, pdf, width, height)
            run(program, name, "--example", "--out", str(dxf))
            document = check_dxf(name, dxf)
            found = cuts_true(name, pdf, width, height, document) if pages == 1 else None
            measured += found is not None
            drawn += 1
            if subprocess.run([program, name, "--example", "--out", str(body)], capture_output=True).returncode == 0:
                check_stl(name, body)
                bodies += 1
            print(name, *(f"{value:.3f}" for value in found or ()))
    print(f"{drawn} sheets draw, {measured} of them measured between cut lines; {bodies} bodies")
    assert drawn >= 14 and measured >= 6 and bodies >= 1


os.environ.setdefault("LC_ALL", "C.UTF-8")
main()
