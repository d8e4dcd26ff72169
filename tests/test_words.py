"""The catalogue of texts: that it is whole, and what a translation must keep."""

from __future__ import annotations

import ast
import gettext as gnu
import json
import re
from collections.abc import Iterator
from io import BytesIO
from string import Formatter
from symtable import SymbolTable, symtable

import pytest
from babel.messages.catalog import Catalog
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po

from api import gather_words, languages
from dispatch import errors, words
from dispatch.clock import format_time
from dispatch.planning.explain import amount_in_words
from dispatch.planning.plan import Broken, Rule
from dispatch.words import counted, reader_language, reading_in, worded
from tests.pseudo import CODE, KEPT, forms, pseudo, pseudo_language, template
from tests.test_house import sources

REMEDY = "Run 'python -m api.gather_words' after a change of marked texts."
SENTENCE = re.compile(r"""(?P<quote>["`])(?P<text>[A-Z“][a-z]+(?:'[a-z])?[ ,:][^"`]*)(?P=quote)""")
MARKED = re.compile(r"""\b(_|N_|counted)\(\s*$|counted\("[^"]*", $""")
PLACE = re.compile(r"%\(\w+\)s|\{\w+[^{}]*\}")


@pytest.fixture(scope="module")
def gathered() -> Catalog:
    """The texts that are marked in the sources now."""
    return gather_words.gathered()


def ids_of(catalog: Catalog) -> set[object]:
    """The English of every text."""
    return {one.id for one in catalog if one.id}


def test_the_template_catalogue_has_the_texts_of_the_sources(gathered: Catalog) -> None:
    """A text that is not in it cannot be translated; one that is left over wastes work."""
    assert ids_of(template()) == ids_of(gathered), REMEDY


def test_a_command_is_told_where_commands_are_typed(gathered: Catalog) -> None:
    """A page tells of one only where nothing else helps, and says on which machine to type it."""
    astray = [
        one.id
        for one in gathered
        if "'dispatch " in str(one.id)
        and "on the machine of the service" not in str(one.id)
        and not all(file.startswith("dispatch/cli/") for file, _line in one.locations)
    ]
    assert astray == []


def test_the_scripts_words_are_those_of_the_scripts(gathered: Catalog) -> None:
    """A page brings its scripts the words of this list, and no others."""
    kept = json.loads(languages.SCRIPT_WORDS.read_text(encoding="utf-8"))
    assert kept == gather_words.script_list(gathered), REMEDY
    assert len(kept) > 100


def lost_places(catalog: Catalog) -> Iterator[str]:
    """Translations that lost a placeholder or made one up; '{n}' may be said in words."""
    for one in catalog:
        english = forms(one.id)
        wanted = {place for form in english for place in PLACE.findall(form)}
        for form in forms(one.string):
            if set(PLACE.findall(form)) | {"{n}"} != wanted | {"{n}"}:
                yield f"{english[0]!r}: {form!r}"


def test_every_translation_keeps_its_placeholders() -> None:
    """A lost name would leave a hole in a sentence, an invented one would break the page."""
    for file in sorted(words.FOLDER.glob("*/LC_MESSAGES/*.po")):
        assert list(lost_places(read_po(BytesIO(file.read_bytes())))) == [], file
    broken = Catalog()
    broken.add("Week {week}", "Woche {woche}")
    broken.add("{n} stop of {who}", "{n} Halt")
    broken.add("On %(day)s", "Am %(day)s")
    assert len(list(lost_places(broken))) == 2


def test_every_placeholder_can_be_filled() -> None:
    """Braces that do not match break the sentence when it is said, not when it is written."""
    for one in template():
        for form in forms(one.id):
            list(Formatter().parse(form))
            assert "%(" not in form or re.sub(r"%\(\w+\)s|%%", "", form).count("%") == 0, form


def test_the_made_up_language_keeps_what_is_not_for_translators() -> None:
    """The test of the pages can only be trusted if it changes words and nothing else."""
    text = 'At <a href="/due">%(week)s</a>, {n:.0f} of 5 %% &amp; more'
    assert KEPT.findall(pseudo(text)) == KEPT.findall(text)
    assert pseudo(text).startswith("⟦Át <a href")


@pytest.mark.parametrize(
    ("header", "language"),
    [
        ("", None),
        ("xx", "xx"),
        ("xx-AT", "xx"),
        ("de, xx;q=0.2", "xx"),
        ("xx;q=0.2, en-GB", "en"),
        ("xx;q=0", None),
        ("*, ;;q=x", None),
    ],
)
def test_a_browser_is_answered_in_its_language(header: str, language: str | None) -> None:
    """The best of those there are, by the weights of the header; else the company's."""
    with pseudo_language():
        assert languages.accepted(header) == language


def test_the_reader_is_known_within_and_forgotten_after() -> None:
    """One call's language must never reach the next one."""
    with pseudo_language(), reading_in(CODE):
        assert reader_language() == CODE
        assert worded("every-2-weeks") == "⟦évéry 2 wééks⟧"
        assert counted("{n} stop", "{n} stops", 1200) == "⟦1,200 stóps⟧"
        assert words.gettext("") == ""
    assert reader_language() == "en"
    assert counted("{n} visit", "{n} visits", 1) == "1 visit"


def test_every_rule_is_told_in_the_readers_language() -> None:
    """The reasons of a plan are said far from any page."""
    with pseudo_language(), reading_in(CODE):
        said = [amount_in_words(Broken(rule, "T1", None, 1.0, "x")) for rule in Rule]
    assert [one for one in said if not one.startswith("⟦")] == []
    assert format_time(0) == "00:00"


def test_scripts_get_every_form_of_a_number(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three forms, as in Polish: 1, 2 to 4 but not 12 to 14, and all others."""
    catalog = Catalog(locale="pl")
    catalog.add(("{n} photo kept", "{n} photos kept"), ("a", "b", "c"))
    catalog.add("Done", "Zrobione")
    stream = BytesIO()
    write_mo(stream, catalog)
    stream.seek(0)
    known = {**words.catalogues(), "pl": gnu.GNUTranslations(stream)}
    monkeypatch.setattr(words, "catalogues", lambda: known)
    languages._script_words.cache_clear()
    with reading_in("pl"):
        found = languages.script_words()
    languages._script_words.cache_clear()
    assert found is not None
    forms = found["said"]["{n} photo kept"]
    told = [forms[found["plural"][n]] for n in (1, 2, 4, 5, 12, 22, 101, 122)]
    assert told == ["a", "b", "b", "c", "c", "b", "c", "b"]
    assert found["said"]["Done"] == "Zrobione"
    assert languages.script_words() is None


def test_numbers_are_written_as_the_language_writes_them(monkeypatch: pytest.MonkeyPatch) -> None:
    """German has a comma before decimals and points between thousands (Unicode CLDR)."""
    known = {**words.catalogues(), "de": gnu.NullTranslations()}
    monkeypatch.setattr(words, "catalogues", lambda: known)
    with reading_in("de-AT"):
        assert (
            words.gettext("{a:,.1f} of {b} in {c}").format(a=1234.5, b="1.5", c=2026)
            == "1.234,5 of 1.5 in 2026"
        )
        assert counted("{n} visit, {h:.2f} h", "{n} visits, {h:.2f} h", 1200, h=0.5) == (
            "1.200 visits, 0,50 h"
        )
        assert words.written("12,345.5 mi") == "12.345,5 mi"
    assert words.written("12,345.5 mi") == "12,345.5 mi"
    with pseudo_language(), reading_in(CODE):
        assert words.written("1.5") == "1.5"  # nobody knows how that language writes


def test_nothing_else_is_called_as_the_mark() -> None:
    """A loop over `_` in a function that marks a sentence would call a number."""
    guilty = [
        f"{file.name}: {scope}"
        for file in sources("dispatch", "api")
        if "dispatch.words import" in (text := file.read_text(encoding="utf-8"))
        for scope in _clashes(symtable(text, str(file), "exec"))
    ]
    assert guilty == []


def _clashes(scope: SymbolTable) -> Iterator[str]:
    """Scopes below the module in which `_` is a value of their own and is used as well."""
    for inner in scope.get_children():
        yield from _clashes(inner)
        if inner.get_type() == "function" and "_" in inner.get_identifiers():
            mark = inner.lookup("_")
            if mark.is_assigned() and mark.is_referenced():
                yield inner.get_name()


def test_nothing_is_said_before_anybody_reads() -> None:
    """A table that is made with the module would keep the language of whoever came first."""
    early = [
        f"{file.name}:{node.lineno}"
        for file in sources("dispatch", "api")
        if "dispatch.words import" in (text := file.read_text(encoding="utf-8"))
        for node in _made_with_the_module(ast.parse(text))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in {"_", "gettext", "ngettext", "counted", "worded"}
    ]
    assert early == []


def _made_with_the_module(node: ast.AST) -> Iterator[ast.AST]:
    """Everything below `node` that is not put off by a function."""
    for inner in ast.iter_child_nodes(node):
        if not isinstance(inner, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
            yield inner
            yield from _made_with_the_module(inner)


def test_every_error_is_said_in_the_readers_language() -> None:
    """Errors are the sentences that are seen least, so that a missing mark lasts longest."""
    kinds = {name for name, one in vars(errors).items() if isinstance(one, type)}
    unmarked = [
        f"{file.name}:{node.lineno}"
        for file in sources("dispatch", "api")
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        and isinstance(node.func, ast.Name)
        and node.func.id in kinds
        and any(isinstance(one, ast.Constant | ast.JoinedStr) for one in node.args[:1])
    ]
    assert unmarked == []


def test_the_shell_says_every_sentence_in_the_companys_language() -> None:
    """What commands print, the titles of their lists, and what stands beside a long run."""
    said = {"say": slice(None), "note": slice(None), "show_list": slice(1, 2), "stage": slice(1)}
    unmarked = [
        f"{file.name}:{one.lineno}"
        for file in sources("dispatch")
        if "cli" in file.parts
        for node in ast.walk(ast.parse(file.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call)
        for one in node.args[said.get(_name_of(node.func), slice(0))]
        if _has_words(one)
    ]
    assert unmarked == []


def _name_of(called: ast.expr) -> str:
    return called.attr if isinstance(called, ast.Attribute) else getattr(called, "id", "")


def _has_words(text: ast.expr) -> bool:
    """Whether a text in the code, apart from what it only puts in, has a word of two letters."""
    parts = text.values if isinstance(text, ast.JoinedStr) else [text]
    texts = [str(one.value) for one in parts if isinstance(one, ast.Constant)]
    return any(re.search(r"[A-Za-z]{2}", re.sub(r"/\w+/|\.ics$", "", one)) for one in texts)


def test_no_text_is_a_piece_of_a_sentence() -> None:
    """Pieces that begin or end with a space or a comma are glued, in the order of English."""
    glue = {" and ", " or "}  # between the parts of a list; see `dispatch.words.joined`
    pieces = {one for kept in template() for one in forms(kept.id) if one}
    found = {one for one in pieces if one[0] in " ,;.)" or one[-1] in " ("}
    assert found - glue == set()


def test_no_script_has_a_sentence_without_its_mark() -> None:
    """What scripts write is on no page that a test without a browser could look at."""
    folder = gather_words.ROOT / "api" / "web" / "src"
    names_of_fonts, told_to_developers = "streetname.ts", "no_flavors.ts"
    unmarked = [
        f"{file.name}:{number}: {found['text']}"
        for file in sorted(folder.rglob("*.ts"))
        if file.name not in {names_of_fonts, told_to_developers}
        for number, line in enumerate(file.read_text(encoding="utf-8").splitlines(), 1)
        if not line.lstrip().startswith(("//", "*", "/*"))
        for found in SENTENCE.finditer(line)
        if not MARKED.search(line[: found.start()])
    ]
    assert unmarked == []


def test_every_name_in_a_sentence_is_given() -> None:
    """A name that nobody gives breaks the sentence when it is said."""
    wrong = [
        f"{file.name}:{node.lineno}: {missing}"
        for file in sources("dispatch", "api")
        if "dispatch.words import" in (text := file.read_text(encoding="utf-8"))
        for node in ast.walk(ast.parse(text))
        if isinstance(node, ast.Call) and (missing := _names_apart(node))
    ]
    assert wrong == []


def _names_apart(call: ast.Call) -> set[str]:
    """Names of `_("…").format(…)` or `counted("…", "…", …)` that stand on one side alone."""
    given = {one.arg for one in call.keywords}
    marked: list[ast.expr] = []
    if isinstance(call.func, ast.Attribute) and call.func.attr == "format":
        inner = call.func.value
        if isinstance(inner, ast.Call) and isinstance(inner.func, ast.Name):
            marked = inner.args if inner.func.id == "_" else []
    elif isinstance(call.func, ast.Name) and call.func.id == "counted":
        marked, given = call.args[:2], given | {"n"}
    texts = [one.value for one in marked if isinstance(one, ast.Constant)]
    wanted = {
        name.split(".")[0].split("[")[0]
        for text in texts
        for _, name, _, _ in Formatter().parse(str(text))
        if name
    }
    known = {name for name in given if name is not None}
    return wanted ^ known if texts and known == given else set()
