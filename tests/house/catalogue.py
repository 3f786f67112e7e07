#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""The catalogues: every format of the rooms that compose sentences is in the template, found by xgettext, which knows nothing of
scripts/words; every translation takes the arguments of its original and keeps its lengths; and how complete each language
is. Usage: catalogue.py SOURCE_ROOT"""
import pathlib
import re
import subprocess
import sys
import tempfile

root = pathlib.Path(sys.argv[1])
passed = failed = 0


def check(good, what):
    global passed, failed
    if good:
        passed += 1
    else:
        failed += 1
        print(f"[  FAILED  ] {what}")


def unquoted(block):
    text = "".join(re.findall(r'^"(.*)"$', block, re.M))
    return re.sub(r'\\(.)', lambda m: {"n": "\n", "t": "\t"}.get(m[1], m[1]), text)


def entries(text):
    for msgid, msgstr in re.findall(r'^msgid ((?:".*"\n?)+)msgstr ((?:".*"\n?)+)', text, re.M):
        if unquoted(msgid):
            yield unquoted(msgid), unquoted(msgstr)


template = {msgid.strip(" \n") for msgid, _ in entries((root / "po" / "camerawright.pot").read_text())}

# ---- every format of the calculations is there ----
ROOMS = ["signal", "shutter", "optics", "workshop", "exposure", "worksheets", "notebook"]
CONVERSION = re.compile(r"%(?:\d\$)?[-+#0]*(?:\d+|\*)?(?:\.(?:\d+|\*))?(?:hh|h|ll|l|z|j)?[diuxXcsfeEgG]")

files = sorted(str(f.relative_to(root)) for room in ROOMS for f in (root / "src" / room).glob("*.c"))


def bytes_as_text(source):
    """Characters that the source writes as bytes; xgettext stops at bytes that are none."""
    return re.sub(r"(?:\\x[0-9a-fA-F]{2})+", lambda m: bytes.fromhex(m[0].replace("\\x", "")).decode(errors="replace"), source)


with tempfile.TemporaryDirectory() as scratch:
    for name in files:
        copy = pathlib.Path(scratch, name)
        copy.parent.mkdir(parents=True, exist_ok=True)
        copy.write_text(bytes_as_text((root / name).read_text()))
    subprocess.run(["xgettext", "-a", "-L", "C", "--from-code=UTF-8", "--no-location", "-o", "all.pot", *files], cwd=scratch,
                   check=True, capture_output=True)
    found = pathlib.Path(scratch, "all.pot").read_text()
LENGTHS = {"PRId64": "ld", "PRIu64": "lu", "PRIi64": "li"}
formats = []
for msgid, _ in entries(found):
    text = re.sub(r"<(PRI\w+)>", lambda m: LENGTHS.get(m[1], m[0]), msgid).strip(" \n")
    words = re.findall(r"[A-Za-z]{3,}", CONVERSION.sub(" ", text))
    # SQL, JSON, SVG, paths and Markdown are no sentences
    if CONVERSION.search(text) and len(words) >= 3 and not re.search(r"\b(SELECT|INSERT|UPDATE|DELETE|FROM|WHERE|ORDER BY)\b|[<>{}_]|\w=|=\w|^[/#*|-]|\n.*\n", text):
        formats.append(text)
missing = [text for text in formats if text not in template]
for text in missing[:10]:
    print(f"  not in the template: {text!r}")
check(len(formats) > 500, f"xgettext found formats: {len(formats)}")
check(not missing, f"{len(missing)} of {len(formats)} formats of the calculations are not in po/camerawright.pot")
endings = [str(f) for f in (root / "src").rglob("*.c") if re.search(r'\? *"" *: *"e?s"|\? *"e?s" *: *""', f.read_text())]
check(not endings, f"an ending as an argument cannot be translated; give one and many a format each: {endings}")


# ---- every translation fits its original ----
def arguments(text):
    taken = []
    for match in CONVERSION.finditer(text.replace("%%", "")):
        place = re.match(r"%(\d)\$", match[0])
        taken.append((int(place[1]) if place else len(taken) + 1, re.sub(r"^%(?:\d\$)?[-+#0]*(?:\d+)?(?:\.\d+)?", "", match[0])))
    return sorted(taken)


def refused(original, translation):
    if arguments(original) != arguments(translation):
        return "other arguments"
    lengths = [len(re.findall("\x00 mm\\b", CONVERSION.sub("\x00", text))) for text in (original, translation)]
    if lengths[0] != lengths[1]:
        return "a length without its mm"
    if original.count('"') != translation.count('"'):
        return "quotation marks, which keep a person's words apart"
    return None


check(refused("%zu of %s", "%s von"), "a lacking argument is refused")
check(refused("%zu of %s", "%zu von %s und %s"), "an added argument is refused")
check(refused("%zu of %s", "%s von %zu"), "arguments of another type are refused")
check(refused("at %.0f mm", "bei %.0f"), "a lost unit is refused")
check(refused('no "%s"', "kein %s"), "lost quotation marks are refused")
check(refused("%zu of %s", "%2$s: %1$zu") is None, "another order is not")
for po in sorted((root / "po").glob("*.po")):
    subprocess.run(["msgfmt", "--check-format", "-o", "/dev/null", str(po)], check=True)
    catalogue = list(entries(po.read_text()))
    wrong = [(original, why) for original, translation in catalogue if (why := refused(original, translation))]
    for original, why in wrong[:10]:
        print(f"  {po.name}: {original!r}: {why}")
    check(not wrong, f"{po.name}: {len(wrong)} translations do not fit their originals")
    strange = [original for original, _ in catalogue if original.strip(" \n") not in template]
    check(not strange, f"{po.name}: texts the program does not have: {strange[:3]}; run scripts/words")
statistics = subprocess.run([sys.executable, str(root / "scripts" / "words"), "--statistics"], capture_output=True, text=True)
print(statistics.stdout, end="")
check(statistics.returncode == 0 and "translated" in statistics.stdout, "scripts/words --statistics")
print(f"{passed} passed, {failed} failed")
sys.exit(1 if failed else 0)
