"""Gathers every text that is marked in the sources, for those who translate; needs Babel.

`python -m api.gather_words` writes the template catalogue of all sentences, from which
`pybabel init` and `pybabel update` make and renew those of the languages, and the list of those
that page scripts say. Marked are the calls of `dispatch.words` in Python, `_`, `counted` and
`{% trans %}` in templates, `_` and `counted` in scripts, and the values of all enumerations.
"""

from __future__ import annotations

import ast
import json
import re
from collections.abc import Iterator
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import IO, Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import write_po

from api.languages import SCRIPT_WORDS
from dispatch.words import DOMAIN, FOLDER

ROOT = Path(__file__).parents[1]
TEMPLATE = FOLDER / f"{DOMAIN}.pot"
KEYWORDS: dict[str, tuple[int, ...] | None] = {
    "_": None,
    "N_": None,
    "gettext": None,
    "ngettext": (1, 2),
    "counted": (1, 2),
    "Column": (2,),  # of a table to import: what the column means
}
METHODS = [
    ("dispatch/**.py", "api.gather_words:python"),
    ("api/web/node_modules/**", "ignore"),
    ("api/web/build.py", "ignore"),
    ("api/**.py", "api.gather_words:python"),
    ("api/templates/**.html", "jinja2"),
    ("api/web/src/**.ts", "api.gather_words:typescript"),
]
OPTIONS = {
    "api/templates/**.html": {"trim_blocks": "true", "lstrip_blocks": "true", "silent": "false"}
}
HAS_TEXTS = re.compile(rb"gettext\(|dispatch\.words|StrEnum|Column\(")
SCRIPT_CALL = re.compile(
    r'(?<![\w.])(_|N_|counted)\(\s*("(?:[^"\\]|\\.)*")(?:,\s*("(?:[^"\\]|\\.)*"))?'
)
HEAD = "# Texts of pool dispatch, gathered by 'python -m api.gather_words'; not written by hand."
MADE = datetime(2026, 1, 1, tzinfo=UTC)  # the same whenever it is made, so that only texts differ


def python(file: IO[bytes], keywords: Any, _comment_tags: Any, options: Any) -> Iterator[Any]:  # noqa: ARG001
    """Marked texts of a Python file and the values of its enumerations, hyphens as spaces."""
    source = file.read()
    if not HAS_TEXTS.search(source):
        return
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.ClassDef) and "StrEnum" in map(ast.unparse, node.bases):
            yield from ((0, "_", value.replace("-", " "), []) for value in _values(node))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
            name = node.func.id
            if name in keywords:
                texts = tuple(
                    one.value if isinstance(one, ast.Constant) else None for one in node.args
                )
                yield 0, name, texts, []


def _values(enumeration: ast.ClassDef) -> Iterator[str]:
    for line in enumeration.body:
        value = line.value if isinstance(line, ast.Assign) else None
        if isinstance(value, ast.Constant) and isinstance(value.value, str) and value.value:
            yield value.value


def typescript(file: IO[bytes], _keywords: Any, _comment_tags: Any, options: Any) -> Iterator[Any]:  # noqa: ARG001
    """Marked texts of a script: what stands in quotes right behind a name that marks it."""
    for found in SCRIPT_CALL.finditer(file.read().decode()):
        name, one, many = found.groups()
        texts = json.loads(one) if name != "counted" else (json.loads(one), json.loads(many))
        yield 0, name, texts, []


def gathered() -> Catalog:
    """Every marked text, each with the files in which it stands."""
    catalog = Catalog(
        domain=DOMAIN, header_comment=HEAD, charset="utf-8", creation_date=MADE, fuzzy=False
    )
    for room in ("api", "dispatch"):
        methods = [
            (f"{one.removeprefix(room + '/')}", how)
            for one, how in METHODS
            if one.startswith(room + "/")
        ]
        options = {one.removeprefix(room + "/"): given for one, given in OPTIONS.items()}
        found = extract_from_dir(ROOT / room, methods, options, KEYWORDS)
        for file, _line, text, comments, context in found:
            catalog.add(
                text, None, [(f"{room}/{file}", 0)], auto_comments=comments, context=context
            )
    return catalog


def template_text(catalog: Catalog) -> str:
    """The template catalogue as a file; it names files and no lines, which move all the time."""
    stream = BytesIO()
    write_po(stream, catalog, width=100, sort_output=True, include_lineno=False)
    return stream.getvalue().decode()


def script_list(catalog: Catalog) -> list[str | list[str]]:
    """What page scripts say: each sentence, or the two forms of one with a number."""
    return [
        list(one.id) if isinstance(one.id, tuple) else one.id
        for one in sorted(catalog, key=lambda one: str(one.id))
        if any(file.endswith(".ts") for file, _ in one.locations)
    ]


def main() -> None:
    """Write both files."""
    catalog = gathered()
    TEMPLATE.write_text(template_text(catalog), encoding="utf-8")
    words = json.dumps(script_list(catalog), ensure_ascii=False, indent=0)
    SCRIPT_WORDS.write_text(words + "\n", encoding="utf-8")
    print(f"{len(catalog)} texts in {TEMPLATE.relative_to(ROOT)}")


if __name__ == "__main__":
    main()
