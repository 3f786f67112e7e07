#!/usr/bin/python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Writes the assembly that takes a catalogue into the program. Usage: po/embed.py NAME FILE.mo

The sum is there for the build system: it does not see what .incbin reads, and builds again only what has changed."""
import hashlib
import pathlib
import sys

name, path = sys.argv[1:]
print(f"""/* SHA-256 {hashlib.sha256(pathlib.Path(path).read_bytes()).hexdigest()} */
	.section .rodata
	.balign 16
	.global cw_words_{name}, cw_words_{name}_end
cw_words_{name}:
	.incbin "{path}"
cw_words_{name}_end:
	.byte 0
	.section .note.GNU-stack,"",%progbits""")
