#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes a catalogue out of the template in which every text stands between marks: what shows without them on a page is not
translated. Usage: po/marks.py po/camerawright.pot > marks.po"""
import re
import sys

text = open(sys.argv[1], encoding="utf-8").read()
head, *entries = re.split(r"\n\n", text.rstrip("\n"))
print(head.replace("Language: ", "Language: en"), end="\n")
for entry in entries:
    msgid = re.search(r'^msgid "(.*)"$', entry, re.M)[1]
    ends = "\\n" if msgid.endswith("\\n") else ""
    body = msgid[: len(msgid) - len(ends)] if ends else msgid
    print("\n" + re.sub(r'^msgstr ""$', lambda _: f'msgstr "\u27e6{body}\u27e7{ends}"', entry, flags=re.M))
