#!/usr/bin/env python3
"""Brings the catalogues in line with the code: `docker/catalogue.py`, then fill what is empty.

Needs the packages of the tests, but no gettext programs. What is marked in pages and templates
is found by its mark; rules bear none: there every literal that reads as a sentence, every form
of `said`, and every text of a protocol version is one.
"""

import ast
import re
import sys
import tomllib
from collections.abc import Iterable, Iterator
from pathlib import Path

import polib
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parent.parent
LOCALE = ROOT / "api" / "locale"
MARKS = {"gettext", "gettext_lazy", "gettext_noop", "later", "said", "noop"}
SENTENCE = re.compile(r"[A-Z0-9{][^\n]* [^\n]*[.?:]", re.S)
# Files of words: there every literal of two words or more is shown to people.
WORDY = (
    "stock/queries/*words.py",
    "protocols/carryover/words.py",
    "protocols/carryover/limits.py",
)
PHRASE = re.compile(r"[A-Za-z][^\n_]* [^\n]*", re.S)
STRING = r"u?(?:'(?:[^'\\]|\\.)*'|\"(?:[^\"\\]|\\.)*\")"
MARKED = re.compile(rf"(?<![\w.])(?:_|n?gettext)\(({STRING})")
COUNTED = re.compile(rf"(?<![\w.])ngettext\(({STRING}),\s*({STRING})")
SHOWN = (
    *("title", "addresses", "does_not_cover", "cautions", "stop_signs", "refused", "care"),
    *("restarts_at", "given_with"),
)
WORD = re.compile(r"[a-z]{2}|[a-z][a-z-]* [a-z]", re.I)


def texts() -> set[str]:
    """Every text that somebody may read, in English."""
    python = (ROOT / "api").rglob("*.py")
    rules = [file for floor in ("protocols", "stock") for file in (ROOT / floor).rglob("*.py")]
    found = {text for file in python for text in marked(file)}
    found |= {text for file in rules if _speaks(file) for text in spoken(file)}
    found |= {text for file in (ROOT / "api/templates").rglob("*.html") for text in shown(file)}
    found |= {text for file in (ROOT / "protocols").rglob("*.toml") for text in defined(file)}
    return {text for text in found if text and WORD.search(text)}


def counted() -> dict[str, str]:
    """Texts that have another form for more than one, and that form."""
    return {
        one: many
        for file in sorted((ROOT / "api").rglob("*"))
        for one, many in _forms(file)
        if WORD.search(one)
    }


def _forms(file: Path) -> Iterator[tuple[str, str]]:
    if file.suffix == ".html":
        for found in COUNTED.finditer(templatize(file.read_text(), origin=str(file))):
            yield ast.literal_eval(found[1]), ast.literal_eval(found[2])
    elif file.suffix == ".py":
        for node in ast.walk(ast.parse(file.read_text())):
            match node:
                case ast.Call(
                    func=ast.Name(id="ngettext"),
                    args=[ast.Constant(value=str(one)), ast.Constant(value=str(many)), *_],
                ):
                    yield one, many


def marked(file: Path) -> Iterator[str]:
    """What is given to a function that translates, whatever it is called in this file."""
    tree = ast.parse(file.read_text())
    names = set(MARKS)
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom):
            names |= {one.asname for one in node.names if one.name in MARKS and one.asname}
    for node in ast.walk(tree):
        match node:
            case ast.Call(func=ast.Name(id=name), args=[text, *_]) if name in names:
                yield from _literals(text)


def _literals(node: ast.expr) -> Iterator[str]:
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.IfExp(body=body, orelse=other):
            yield from _literals(body)
            yield from _literals(other)


def spoken(file: Path) -> Iterator[str]:
    """What a file of rules says: literals that read as sentences, and forms."""
    tree = ast.parse(file.read_text())
    yield from marked(file)
    documents = {
        id(node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
    }
    inside = {
        id(part)
        for node in ast.walk(tree)
        if isinstance(node, ast.JoinedStr)
        for part in ast.walk(node)
    }
    kind = PHRASE if any(file.match(one) for one in WORDY) else SENTENCE
    for node in ast.walk(tree):
        match node:
            case ast.Constant(value=str(text)) if id(node) not in documents | inside:
                if kind.fullmatch(text):
                    yield text


def _speaks(file: Path) -> bool:
    apart = {"migrations", "management", "demo", "testing"}
    return not apart & set(file.relative_to(ROOT).parts)


def shown(file: Path) -> Iterator[str]:
    """What a template marks; of two forms for one and many, both."""
    code = templatize(file.read_text(), origin=str(file))
    for found in MARKED.finditer(code):
        yield ast.literal_eval(found[1])


def defined(file: Path) -> Iterator[str]:
    """What a protocol version says in words; where its figures are from is not translated."""
    said = tomllib.loads(file.read_text())
    for name in SHOWN:
        value = said.get(name, ())
        yield from [value] if isinstance(value, str) else _flat(value)


def _flat(values: Iterable[object]) -> Iterator[str]:
    for one in values:
        if isinstance(one, str):
            yield one


def catalogue(language: str) -> polib.POFile:
    """The catalogue as it should stand: every text of today, none of yesterday."""
    po = polib.pofile(str(LOCALE / language / "LC_MESSAGES" / "django.po"), wrapwidth=96)
    today, many = texts() | counted().keys(), counted()
    for entry in list(po):
        if entry.msgid not in today or entry.msgid_plural != many.get(entry.msgid, ""):
            po.remove(entry)
    known = {entry.msgid for entry in po}
    for text in today - known:
        po.append(_empty(text, many.get(text, "")))
    po.sort(key=lambda entry: entry.msgid)
    return po


def _empty(text: str, many: str) -> polib.POEntry:
    if not many:
        return polib.POEntry(msgid=text, msgstr="")
    return polib.POEntry(msgid=text, msgid_plural=many, msgstr_plural={0: "", 1: ""})


def main() -> int:
    empty = 0
    for folder in sorted(LOCALE.iterdir()):
        po = catalogue(folder.name)
        po.save()
        po.save_as_mofile(str(folder / "LC_MESSAGES" / "django.mo"))
        empty += len(po.untranslated_entries())
        sys.stdout.write(f"{folder.name}: {len(po)} texts, {empty} of them empty\n")
    return 1 if empty else 0


if __name__ == "__main__":
    sys.exit(main())
