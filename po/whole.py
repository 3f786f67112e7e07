#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes of a catalogue in parts one that knows every text of the template: what is not translated gets a translation that
begins with the character 1, which src/base/words.c takes for "not yet". So the program can tell a text of its own that
is still English from a name or a path. Usage: po/whole.py TEMPLATE.pot [CATALOGUE.po] > whole.po"""
import pathlib
import re
import sys

ENTRY = re.compile(r'^msgid ((?:".*"\n?)+)msgstr ((?:".*"\n?)+)', re.M)


def entries(path):
    text = pathlib.Path(path).read_text(encoding="utf-8")
    for msgid, msgstr in ENTRY.findall(text):
        yield tuple("".join(re.findall(r'^"(.*)"$', part, re.M)) for part in (msgid, msgstr))


translated = {}
for catalogue in sys.argv[2:]:
    translated.update(entries(catalogue))
print('msgid ""\nmsgstr "Content-Type: text/plain; charset=UTF-8\\n"')
for msgid, _ in entries(sys.argv[1]):
    if msgid:
        print(f'\nmsgid "{msgid}"\nmsgstr "{translated.get(msgid) or chr(92) + "001"}"')
