#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Every published form of the bench on the command line: a command that only reads brings it up to date, says so once, keeps
what it was, and finds everything; a bench of a newer form is refused and not touched. Usage: older_benches.py PROGRAM SOURCE-ROOT"""
import glob
import hashlib
import json
import os
import re
import sqlite3
import subprocess
import sys
import tempfile

PROGRAM, ROOT = sys.argv[1:3]
FORMS = sorted(int(re.search(r"v(\d+)\.sql", name).group(1)) for name in glob.glob(f"{ROOT}/tests/data/benches/v*.sql"))
READING = [["job", "list"], ["job", "show", "1", "--json"], ["job", "next", "1"], ["job", "prove", "1"], ["tools", "list"],
           ["search", "speeds"], ["step", "list", "1"], ["check", "--quick"], ["checklist", "list", "1"]]


def make(folder, form):
    os.mkdir(folder)
    with open(f"{ROOT}/tests/data/benches/v{form}.sql", encoding="utf-8") as sql, sqlite3.connect(f"{folder}/bench.db") as db:
        db.executescript(sql.read())
    db.close()


def run(folder, *command):
    return subprocess.run([PROGRAM, *command, "--bench", folder], capture_output=True, text=True, timeout=120)


def rows(path):
    db = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
    try:
        names = [name for (name,) in db.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'words%' ORDER BY name")]
        return db.execute("PRAGMA user_version").fetchone(), {name: db.execute(f'SELECT * FROM "{name}" ORDER BY rowid').fetchall() for name in names}
    finally:
        db.close()


def listing(folder):
    return {name: hashlib.sha256(open(f"{folder}/{name}", "rb").read()).hexdigest() for name in sorted(os.listdir(folder))}


def older(outer, form, command):
    """The command, which finds the bench as it was written; then what is found in it."""
    folder = f"{outer}/{form}"
    make(folder, form)
    before, is_old = rows(f"{folder}/bench.db"), form < FORMS[-1]
    first = run(folder, *command)
    # check names the originals that the frozen rows lack: exit status 1
    assert first.returncode == (1 if command[0] == "check" else 0), (form, command, first)
    kept = f"{folder}/bench-form-{form}.db"
    told = f'written by an earlier version and is up to date now; what it was is kept in "{kept}"'
    assert first.stderr.count(told) == is_old, (form, command, first.stderr)
    assert os.path.exists(kept) == is_old, (form, command)
    assert not is_old or rows(kept) == before, f"form {form}: the copy is not what the bench was"
    assert not [name for name in os.listdir(folder) if name.endswith(".new")], os.listdir(folder)
    again = run(folder, *command)
    assert (again.stderr, again.stdout) == ("", first.stdout), (form, command, again)
    assert "Tarnbrook 35" in run(folder, "job", "list").stdout
    assert json.loads(run(folder, "job", "show", "1", "--json").stdout)["serial"] == "402187"


def newer(outer):
    folder = f"{outer}/newer"
    make(folder, FORMS[-1])
    with sqlite3.connect(f"{folder}/bench.db") as db:
        db.execute(f"PRAGMA user_version = {FORMS[-1] + 1}")
    db.close()
    before = listing(folder)
    for command in READING + [["job", "new", "--camera", "X"], ["step", "add", "1", "X"], ["serve", "--port", "0"], ["backup", f"{outer}/copy"]]:
        said = run(folder, *command)
        assert said.returncode == 2, (command, said)
        assert f"newer version of this program (form {FORMS[-1] + 1}, this one knows {FORMS[-1]}); nothing was touched" in said.stderr, said.stderr
        assert listing(folder) == before, (command, os.listdir(folder))


def main():
    assert FORMS == list(range(1, len(FORMS) + 1)) and len(FORMS) > 5, FORMS
    with tempfile.TemporaryDirectory() as outer:
        for form in FORMS:
            older(outer, form, READING[form % len(READING)])
        newer(outer)
    print(f"forms {FORMS}: read, brought up to date, kept as they were; a newer one left alone")


main()
