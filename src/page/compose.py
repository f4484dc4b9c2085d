"""Compose the page: one file with its looks, its script and the program.

    compose.py OUTPUT PAGE STYLE ENGINE WASM DEMO ZIP WORKER SCRIPT...

ENGINE and WASM are what the compiler made of the program, DEMO is a recording
to begin with, ZIP the library that packs files. What is not text goes into the
page as one stream (RFC 1952), four bytes in five letters. The policy in the page names the style
and the script by their SHA-256 (W3C, "Content Security Policy Level 3", 2.3.1),
so nothing else can run in it, and no request leaves it.
"""

import base64
import hashlib
import json
import re
import subprocess
import sys
import tempfile


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def read_bytes(path):
    with open(path, "rb") as file:
        return file.read()


def bare(text):
    """Leave out comments that have lines of their own, and empty lines."""
    text = re.sub(r"(?ms)^[ \t]*/\*.*?\*/[ \t]*\n", "", text)
    text = re.sub(r"(?m)^[ \t]*//.*\n", "", text)
    return re.sub(r"\n{2,}", "\n", text)


def digest(text):
    raw = hashlib.sha256(text.encode()).digest()
    return "'sha256-" + base64.b64encode(raw).decode() + "'"


def letters(packed):
    """Ascii85, with "v" for "<", which could end a script, and without "z". A name
    in the header makes it whole groups (RFC 1952, 2.3.1)."""
    name = b"x" * (-(len(packed) + 1) % 4) + b"\0"
    whole = packed[:3] + b"\x08" + packed[4:10] + name + packed[10:]
    text = base64.a85encode(whole).replace(b"z", b"!!!!!")
    return text.replace(b"<", b"v").decode()


def stream(parts):
    """The parts one after the other, behind a line that says how long each is."""
    head = json.dumps({name: len(data) for name, data in parts}) + "\n"
    whole = head.encode() + b"".join(data for _, data in parts)
    with tempfile.NamedTemporaryFile() as file:
        file.write(whole)
        file.flush()
        packed = subprocess.run(
            ["zopfli", "--i5", "-c", file.name], stdout=subprocess.PIPE, check=True
        ).stdout
    return letters(packed)


def main(output, page, style, engine, wasm, demo, library, worker, *scripts):
    css = bare(read(style))
    js = '"use strict";\n' + bare("\n".join(map(read, scripts)))
    packed = stream(
        [
            ("worker", (read(engine) + "\n" + bare(read(worker))).encode()),
            ("program", read_bytes(wasm)),
            ("demo", read_bytes(demo)),
        ]
    )
    text = read(page)
    for mark, value in (
        ("@STYLE@", css),
        ("@ZIP@", read(library)),
        ("@SCRIPT@", js),
        ("@STYLE_DIGEST@", digest(css)),
        ("@SCRIPT_DIGESTS@", digest(js) + " " + digest(read(library))),
        ("@STREAM@", packed),
    ):
        assert mark in text, mark
        text = text.replace(mark, value)
    with open(output, "w", encoding="utf-8") as file:
        file.write(text)


if __name__ == "__main__":
    main(*sys.argv[1:])
