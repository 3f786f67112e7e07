#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""What independent readers say of the drawings: ezdxf for DXF, poppler at 1200 dpi for the PDF's true size, an XML parser
for SVG, numpy for PNG.  usage: outside.py SAMPLES-PROGRAM PLOTS-PROGRAM"""
import pathlib
import math
import re
import subprocess
import sys
import tempfile
import warnings
import xml.etree.ElementTree as xml

warnings.filterwarnings("ignore")
import ezdxf  # noqa: E402
import numpy  # noqa: E402
import stl.mesh  # noqa: E402

DPI = 1200
MM = DPI / 25.4


def run(*command):
    return subprocess.run(command, check=True, capture_output=True).stdout


def grey(pdf, page, x_mm, y_mm, w_mm, h_mm):
    """Ink, 0 to 1, of a window of the page."""
    raw = run("pdftoppm", "-r", str(DPI), "-gray", "-f", str(page), "-l", str(page), "-x", str(round(x_mm * MM)), "-y",
              str(round(y_mm * MM)), "-W", str(round(w_mm * MM)), "-H", str(round(h_mm * MM)), str(pdf))
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
    width, height = int(head.group(1)), int(head.group(2))
    return 1 - numpy.frombuffer(raw, numpy.uint8, width * height, head.end()).reshape(height, width) / 255.0


def line_places(ink, axis):
    """Middles, in mm, of the runs of ink along one axis."""
    profile = ink.sum(axis=axis)
    on = profile > 0.5 * profile.max()
    edges = numpy.flatnonzero(numpy.diff(numpy.concatenate([[0], on.astype(int), [0]])))
    places = []
    for a, b in zip(edges[::2], edges[1::2]):
        weight = profile[max(a - 2, 0):b + 2]
        places.append((numpy.arange(max(a - 2, 0), max(a - 2, 0) + len(weight)) + 0.5) @ weight / weight.sum() / MM)
    return places


def near(what, value, truth, tolerance):
    assert abs(value - truth) <= tolerance, f"{what}: {value:.4f}, expected {truth} within {tolerance}"
    print(f"{what}: {value:.4f} (true {truth})")


def true_size(folder):
    """0.05 mm per 100 mm is asked of the paper."""
    for name, width, height in (("gauge.pdf", 210, 297), ("gauge-letter.pdf", 215.9, 279.4)):
        pdf = folder / name
        window_x, window_w = 10, width - 28
        window_y, window_h = 29, height - 58
        middle_x, middle_y = window_x + window_w / 2, window_y + window_h / 2
        left = line_places(grey(pdf, 1, middle_x - 83, middle_y - 5, 6, 10), 0)[0] + round((middle_x - 83) * MM) / MM
        right = line_places(grey(pdf, 1, middle_x + 77, middle_y - 5, 6, 10), 0)[0] + round((middle_x + 77) * MM) / MM
        near(f"{name} across", right - left, 160, 0.08)
        top = line_places(grey(pdf, 1, middle_x - 5, middle_y - 103, 10, 6), 1)[0] + round((middle_y - 103) * MM) / MM
        foot = line_places(grey(pdf, 1, middle_x - 5, middle_y + 97, 10, 6), 1)[0] + round((middle_y + 97) * MM) / MM
        near(f"{name} up", foot - top, 200, 0.1)
        left = line_places(grey(pdf, 1, middle_x - 53, middle_y - 0.5, 6, 1), 0)[0] + round((middle_x - 53) * MM) / MM
        right = line_places(grey(pdf, 1, middle_x + 47, middle_y - 0.5, 6, 1), 0)[0] + round((middle_x + 47) * MM) / MM
        near(f"{name} ring", right - left, 100, 0.05)
        # The check bars: end ticks 50 mm apart, level and upright.
        y = height - 10 - 19 + 8
        ticks = line_places(grey(pdf, 1, 9, y - 1.9, 53, 0.6), 0)
        assert len(ticks) == 2, ticks
        near(f"{name} level bar", ticks[-1] - ticks[0], 50, 0.025)
        ticks = line_places(grey(pdf, 1, width - 10 - 5 - 1.9, height - 29 - 52, 0.6, 54), 1)
        assert len(ticks) == 2, ticks
        near(f"{name} upright bar", ticks[-1] - ticks[0], 50, 0.025)


def sheets(folder):
    for pdf in sorted(folder.glob("*.pdf")):
        text = run("pdftotext", "-layout", pdf, "-").decode()
        assert "Print at 100 %, without scaling." in text, pdf
        assert "50 mm" in text and "nan" not in text.lower().split(), pdf
        assert len(run("pdfimages", "-list", pdf).decode().splitlines()) == 2, f"{pdf} holds pictures instead of lines"
        fonts = run("pdffonts", pdf).decode().splitlines()[2:]
        assert fonts and all(" yes yes " in line for line in fonts), f"{pdf}: fonts not embedded: {fonts}"
        info = run("pdfinfo", pdf).decode()
        expected = "612 x 792" if "letter" in pdf.name else "595.276 x 841.89"
        if "large" in pdf.name:
            pages = int(re.search(r"Pages:\s+(\d+)", info).group(1))
            assert pages == 4, info
            assert "page 4 of 4" in text and "Pages overlap by 12 mm" in text
            assert "One sheet of A2 would take it whole." in " ".join(text.split()), text
        else:
            assert expected in info or " x ".join(reversed(expected.split(" x "))) in info, info
    assert "job 7 · 2 March" in run("pdftotext", folder / "wrench.pdf", "-").decode()


def marks_meet(folder):
    """A pair of marks on pages 1 and 2 lies one page step apart: window 182 - overlap 12 = 170 mm (or landscape 269 - 12)."""
    info = run("pdfinfo", folder / "large.pdf").decode()
    width, height = (float(v) / 72 * 25.4 for v in re.search(r"Page size:\s+([\d.]+) x ([\d.]+)", info).groups())
    window_w, window_h = width - 28, height - 58
    places = []
    for page, x in ((1, 10 + window_w - 6), (2, 10 + 6)):
        y = 29 + window_h / 4
        ink = grey(folder / "large.pdf", page, x - 3.5, y + 2.3, 7, 0.8)
        places.append(line_places(ink, 0)[0] + round((x - 3.5) * MM) / MM)
    near("step between pages by their marks", places[0] - places[1], window_w - 12, 0.05)


def dxf(folder):
    for path in sorted(folder.glob("*.dxf")):
        document = ezdxf.readfile(path)
        assert document.dxfversion == "AC1009"
        auditor = document.audit()
        assert not auditor.errors and not auditor.fixes, (path, auditor.errors, auditor.fixes)
    space = ezdxf.readfile(folder / "wrench.dxf").modelspace()
    outline = [e for e in space if e.dxftype() == "POLYLINE" and e.dxf.layer == "CUT"]
    assert len(outline) == 1 and outline[0].is_closed and len(outline[0].vertices) == 12
    xs = [v.dxf.location.x for v in outline[0].vertices]
    near("outline across", max(xs) - min(xs), 90, 1e-6)
    holes = sorted(e.dxf.radius for e in space if e.dxftype() == "CIRCLE" and e.dxf.layer == "DRILL")
    assert holes == [0.8, 3.0], holes
    arc, = [e for e in space if e.dxftype() == "ARC"]
    assert (arc.dxf.start_angle, arc.dxf.end_angle, arc.dxf.layer) == (0, 180, "HIDDEN")
    texts = {e.dxf.text for e in space if e.dxftype() == "TEXT"}
    assert "23.4 %%p 0.1 mm" in texts and "25 mm, %%c 6" in texts and "mild steel, 2 mm, 20 %%dC" in texts, texts


def svg(folder):
    for path in sorted(folder.glob("*.svg")):
        root = xml.parse(path).getroot()
        children = [child.tag.split("}")[1] for child in root]
        assert children[:2] == ["title", "desc"] and root.get("role") == "img", path
    root = xml.parse(folder / "gauge.svg").getroot()
    width = float(root.get("width").removesuffix("mm"))
    near("gauge.svg width", width, 164, 1e-9)
    assert float(root.get("viewBox").split()[2]) == width


def png(folder):
    data = (folder / "gauge.png").read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    width, height = int.from_bytes(data[16:20], "big"), int.from_bytes(data[20:24], "big")
    assert (width, height) == (-(-164 * 150 // 25.4) // 1, -(-204 * 150 // 25.4) // 1), (width, height)


def coarse(folder, svg_text):
    """An SVG as rsvg sees it, at 150 dpi, in blocks of 8 dots."""
    (folder / "look.svg").write_text(svg_text)
    subprocess.run(["rsvg-convert", "-f", "pdf", "-d", "150", "-p", "150", "-o", folder / "look.pdf", folder / "look.svg"], check=True)
    raw = subprocess.run(["pdftoppm", "-r", "150", "-gray", folder / "look.pdf"], check=True, capture_output=True).stdout
    for ending in ("svg", "pdf"):
        (folder / f"look.{ending}").unlink()
    head = re.match(rb"P5\s+(\d+)\s+(\d+)\s+255\s", raw)
    ink = 1 - numpy.frombuffer(raw, numpy.uint8, offset=head.end()).reshape(int(head.group(2)), -1) / 255
    h, w = (v // 8 * 8 for v in ink.shape)
    return ink[:h, :w].reshape(h // 8, 8, w // 8, 8).mean(axis=(1, 3))


def two_ways_one_picture(folder):
    """The SVG through rsvg and the PNG through cairo must show the same lines in the same places."""
    for name in ("wrench", "lens"):
        svg_text = (folder / f"{name}.svg").read_text()
        root = xml.fromstring(svg_text)
        width, height = root.get("width"), root.get("height")
        one = coarse(folder, svg_text)
        two = coarse(folder, f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}"><image '
                             f'href="{name}.png" width="{width}" height="{height}" preserveAspectRatio="none"/></svg>')
        h, w = min(one.shape[0], two.shape[0]), min(one.shape[1], two.shape[1])
        one, two = one[:h, :w], two[:h, :w]
        assert one.max() > 0.2 and two.max() > 0.2, "nothing was drawn"
        # Smoothed over three blocks, what is in one and not in the other stays below a third of a line through a block.
        difference = one - two
        smooth = sum(numpy.roll(numpy.roll(difference, i, 0), j, 1) for i in (-1, 0, 1) for j in (-1, 0, 1)) / 9
        print(f"{name}: largest difference of SVG and PNG {abs(smooth).max():.3f}")
        assert abs(smooth).max() < 0.05, name


def polygon(radius, sides):
    return sides / 2 * radius ** 2 * math.sin(2 * math.pi / sides)


def solids(folder):
    """admesh must find nothing to mend; the volume is that of the prisms, and of the cones between them."""
    cone = lambda r, q, h: h / 3 * (polygon(r, 96) + polygon(q, 96) + math.sqrt(polygon(r, 96) * polygon(q, 96)))
    truth = {
        "ring.stl": 12 * (polygon(26, 180) - polygon(20, 180)),
        "knob.stl": cone(10, 10, 4) + cone(10, 6, 4) + cone(6, 6, 7) + cone(6, 0, 2),
        "plate.stl": 3 * (36 * 45 * 48 * math.sin(math.pi / 36) - 60 * 4 - 7 * polygon(3, 24)),
    }
    for name, volume in truth.items():
        path = folder / name
        assert not path.read_bytes().startswith(b"solid")
        report = run("admesh", str(path)).decode()
        for line in ("Number of parts", "Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed",
                     "Backwards edges", "Normals fixed"):
            value = int(re.search(line + r"\s*:\s*(\d+)", report).group(1))
            assert value == (1 if line == "Number of parts" else 0), (name, line, report)
        assert re.search(r"Total disconnected facets\s*:\s*0\s+0", report), report
        mesh = stl.mesh.Mesh.from_file(str(path))
        edges = [(tuple(t[i]), tuple(t[(i + 1) % 3])) for t in mesh.vectors for i in range(3)]
        assert len(set(edges)) == len(edges) and {(b, a) for a, b in edges} == set(edges), f"{name} is not closed"
        near(f"{name} volume", float(mesh.get_mass_properties()[0]), volume, 1e-4 * volume)


def plots(folder):
    """Well-formed, named and described, without ids, styles and figures that are none; vector when printed."""
    found = sorted(folder.glob("*.svg"))
    assert len(found) >= 9, found
    for path in found:
        root = xml.parse(path).getroot()
        children = [child.tag.split("}")[1] for child in root]
        assert children[:2] == ["title", "desc"] and root.get("role") == "img", path
        assert len(root[1].text) > 20, f"{path}: no text alternative"
        width, height = (float(v) for v in root.get("viewBox").split()[2:])
        for element in root.iter():
            assert element.tag.split("}")[1] in {"svg", "title", "desc", "g", "path", "circle", "text"}, element.tag
            assert not {"id", "style"} & set(element.attrib), (path, element.attrib)
            for value in list(element.attrib.values()) + [element.text or ""]:
                assert not re.search(r"\b(nan|inf)\b", value), (path, value)
            if element.tag.endswith("}text"):
                assert -1 <= float(element.get("x")) <= width and 0 <= float(element.get("y")) <= height, (path, element.text)
        subprocess.run(["rsvg-convert", "-f", "pdf", "-o", folder / "one.pdf", path], check=True)
        assert len(run("pdfimages", "-list", folder / "one.pdf").decode().splitlines()) == 2, f"{path} is not vector"
    text = xml.parse(folder / "speeds.svg").getroot()[1].text
    assert "Before: 9 of 11 speeds inside the tolerance; 1/500 s +0.42 EV too close to call, 1/1000 s +0.56 EV outside." in text, text
    assert "After: 11 of 11 speeds inside the tolerance." in text, text
    words = [e.text for e in xml.parse(folder / "nothing.svg").getroot().iter() if e.tag.endswith("}text")]
    assert "nothing to show" in words


def main():
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([sys.argv[2], name], check=True)
        plots(folder)
    with tempfile.TemporaryDirectory() as name:
        folder = pathlib.Path(name)
        subprocess.run([sys.argv[1], name], check=True)
        for check in (dxf, svg, png, two_ways_one_picture, solids, sheets, true_size, marks_meet):
            check(folder)


main()
