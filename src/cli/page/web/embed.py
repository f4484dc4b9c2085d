"""Embed the page in C: what stands before the data, and what after them.

    embed.py OUTPUT PAGE STYLE SCRIPT...

The policy in the page names the style and the script by their SHA-256 (W3C,
"Content Security Policy Level 3", 2.3.1), so nothing else can run in it.
"""

import pathlib
import sys

sys.path.insert(0, str(pathlib.Path(__file__).parents[3] / "page"))
sys.dont_write_bytecode = True
from compose import bare, digest, read  # noqa: E402


def array(name, text):
    data = text.encode("ascii") + b"\0"
    rows = (data[i : i + 20] for i in range(0, len(data), 20))
    body = ",\n  ".join(", ".join(map(str, row)) for row in rows)
    return f"const char {name}[] = {{\n  {body}}};\n"


def main(output, page, style, *scripts):
    css = bare(read(style))
    js = '"use strict";\n' + bare("\n".join(map(read, scripts)))
    text = read(page)
    for mark, value in (
        ("@STYLE@", css),
        ("@SCRIPT@", js),
        ("@STYLE_DIGEST@", digest(css)),
        ("@SCRIPT_DIGEST@", digest(js)),
    ):
        assert mark in text, mark
        text = text.replace(mark, value)
    before, after = text.split("@DATA@")
    with open(output, "w", encoding="ascii") as file:
        file.write('#include "cli/page/page.h"\n\n')
        file.write(array("tryout_before", before))
        file.write("\n" + array("tryout_after", after))


main(*sys.argv[1:])
