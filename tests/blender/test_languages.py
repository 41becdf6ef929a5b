"""The extension in other languages: nothing is left in English, nothing is half translated, English stays as it is.

Blender as a Python module knows no languages: its settings are there, but its locale is always empty. Here another
stands in its place, and what Blender does with the words it is told is done by the layout that notes them.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import SimpleNamespace

import bpy
import pytest

from addon.scene import built, tables, translation
from addon.scene.state.choices import OUTPUT_ITEMS
from addon.scene.translation import CONTEXT, Language, language_of, read, reported, shown, told
from addon.sizes.words import capital
from addon.ui import fields, panel, report

from . import test_panels, words_shown
from .conftest import LOW_WINDOW, QUILTING, SEED_BENCH, analyze_now
from .test_panels import LONG_RIB, ROOM, SENTENCE, WIDE, Layout, drawn, pixels
from .test_panels import reported as reported_in

FILES = sorted(translation.FOLDER.glob("*.po"))
WIDE_LEAF = SEED_BENCH + '\n[[as_cut]]\npart = "L1"\ndimension = "width"\ndeviation = 1.0\n'
"""L1 is an inch wider than drawn: it lies in no cover and goes through no slot."""

SAME = {
    "Dry Assembly", "PDF", "SVG", "PNG", "Format", "Name", "Animation", "Video", "Hand", "Engine", "Workbench",
    "Cycles", "mm", "in", "1/16 in", "1/32 in", "1/64 in", "Pause",
    "Letter", "Form",
}  # fmt: skip
"""Words that are the same in German (Duden, from memory), names and units."""


NAMES, SHORT = 11, 21
"""Letters that the names of the lines and their short words have room for beside each other: by hand, from a screenshot
of Blender's German window at the sidebar's first width."""


@pytest.fixture
def german(scene: bpy.types.Scene, monkeypatch: pytest.MonkeyPatch) -> Iterator[Language]:
    """German as the language of the interface, of tooltips and of reports."""
    view = bpy.context.preferences.view
    names = [
        name
        for name in dir(view)
        if name in ("use_translate_interface", "use_translate_tooltips", "use_translate_reports")
    ]
    before = {name: getattr(view, name) for name in names}
    for name in names:
        setattr(view, name, True)
    monkeypatch.setattr(translation, "_locale", lambda: "de_DE")
    language = language_of("de_DE")
    assert language is not None
    yield language
    for name, value in before.items():
        setattr(view, name, value)


class Translated(Layout):
    """A layout that has words looked up as Blender does."""

    def _word(self, text, ours, translate=True):
        super()._word(shown(text) if translate else text, ours, translate)

    def operator(self, name, text=None, icon="NONE", depress=False, translate=True, text_ctxt=""):
        made = super().operator(name, text, icon, depress, translate, text_ctxt)
        if text is None:
            self.notes.texts[-1] = shown(self.notes.texts[-1])
        return made


# -- files


def test_german_is_there():
    assert "de.po" in [path.name for path in FILES]
    assert language_of("de_DE") is language_of("de_DE")
    assert language_of("de_AT") is not None
    assert language_of("en_US") is None
    assert language_of("") is None


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_file_has_each_entry_once_with_its_holes(path: Path):
    text = path.read_text(encoding="utf-8")
    assert len(read(text)) == len(re.findall(r'^msgid "(?!"$)', text, re.M))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_all_that_is_registered_is_translated(scene, path):
    words = read(path.read_text(encoding="utf-8"))
    labels, tooltips = words_shown.registered()
    assert len(labels) > 200
    assert len(tooltips) > 200
    assert sorted((labels | tooltips) - words.keys()) == []


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_all_that_code_says_is_translated(path):
    language = Language(read(path.read_text(encoding="utf-8")))
    found = words_shown.in_sources()
    assert len(found) > 250
    assert sorted(words_shown.unsaid(language, found)) == []


def test_only_what_is_the_same_in_german_is_the_same(german):
    assert {one for one, own in german.words.items() if own == one and not translation.holes(one)} == SAME


def test_every_property_has_our_context(scene):
    found = [(kind, item) for _, kind in words_shown.own_kinds() for item in words_shown.own_properties(kind)]
    assert len(found) > 150
    assert [(kind, item.identifier) for kind, item in found if item.translation_context != CONTEXT] == []


# -- what Blender is told


def test_blender_is_told_of_labels_in_our_context_and_of_tooltips_in_that_of_all(scene, monkeypatch):
    heard = {}
    stub = SimpleNamespace(register=heard.__setitem__, unregister=heard.pop)
    monkeypatch.setattr(
        translation,
        "bpy",
        SimpleNamespace(app=SimpleNamespace(translations=stub), types=bpy.types, ops=bpy.ops),
    )
    translation.register()
    ((name, languages),) = heard.items()
    assert name == "addon"
    words = languages["de"]
    assert words[CONTEXT, "Check"] == "Prüfen"
    assert ("*", "Check") not in words
    assert words["*", "Outside length, along x"] == "Außenlänge, in x"
    _, tooltips = words_shown.registered()
    operators = {
        kind.bl_description
        for name, kind in words_shown.own_kinds()
        if name == "Operator" and hasattr(kind, "bl_description")
    }  # these say their own
    assert tooltips - operators <= {text for context, text in words if context == "*"}
    translation.unregister()
    assert heard == {}


# -- what is shown


@pytest.mark.parametrize("text", [QUILTING, LONG_RIB, LOW_WINDOW, WIDE_LEAF])
def test_panels_and_report_are_german(german, monkeypatch, text):
    state = tables.create_table(bpy.context.scene, text)
    tables.pending.flush()
    tables.find_remedies(state)
    analyze_now(state)
    monkeypatch.setattr(test_panels, "Layout", Translated)
    for output, *_ in OUTPUT_ITEMS:
        bpy.context.scene.dry_assembly.output = output
        notes = drawn(bpy.context.scene)
        assert not [one for one in notes.labels if len(one) > WIDE]
        assert not [one for one in notes.words if len(one) > SENTENCE]
        assert not [row for row in notes.rows if pixels(row) > ROOM]
        names = Counter(one for one in notes.texts if one)
        assert not [one for one, count in names.items() if count > 1 and one != shown("Use Nearest")]
    for line in (*state.answer, *state.checks):
        assert len(shown(line.name)) <= NAMES
        assert len(shown(line.short)) <= SHORT
    monkeypatch.setattr(fields, "letters", lambda _context=None: 9999)
    monkeypatch.setattr(report, "LETTERS", 9999)
    found = _all_words(bpy.context.scene)
    monkeypatch.setattr(translation, "_locale", lambda: "")
    english = _all_words(bpy.context.scene)
    assert len(english) > 150
    own = {state.name, *(sheet.title for sheet in state.parameters.stock)}
    told_by_findings = {text for one in state.findings for text in _said_by(one)}
    left = {one for one in found & english if Language({}).said(one) is None}
    assert {
        one for one in left if not re.search(r"/|^[a-z0-9]+(-[a-z0-9.]+)+$", one)
    } <= own | SAME | told_by_findings


def _all_words(scene: bpy.types.Scene) -> set[str]:
    return {*drawn(scene).words, *reported_in(scene).words}


def _said_by(finding) -> set[str]:
    """Sentences of a finding: in English where a language has none for them."""
    remedies = {f"{capital(remedy.name)}." for remedy in finding.remedies}
    return {panel.message(finding), finding.message, *remedies}


@pytest.mark.parametrize("text", [QUILTING, SEED_BENCH, LOW_WINDOW, WIDE_LEAF])
def test_all_that_a_table_says_can_be_said(german, text):
    """Lines, openings, sag, positions, tolerances, parts and dimensions; findings are sentences of their own."""
    state = tables.create_table(bpy.context.scene, text)
    tables.pending.flush()
    analyze_now(state)
    said = set(words_shown.said_of(state)) | words_shown.dimensions_of(
        built.assembly_of(built.table_of(text))
    )
    assert len(said) > 100
    assert sorted(words_shown.unsaid(german, said)) == []


def test_every_finding_and_what_helps_can_be_said(german):
    said = words_shown.advice_on_faults()
    assert len(said) > 150
    assert sorted(words_shown.unsaid(german, said)) == []


def test_every_size_that_cannot_be_built_is_refused_in_german(german):
    said = words_shown.refusals()
    assert len(said) > 20
    assert sorted(words_shown.unsaid(german, said)) == []
    words = (
        "stowing.side_clearance = 20 mm cannot be built: use 6 mm with L4's offset = -197.45 mm, because the ways of "
        "L4 and L3 would run together."
    )
    # Written by hand.
    assert panel.without_keys(words) == (
        f"{shown('Side Clearance')} = 20 mm lässt sich nicht bauen: 6 mm mit Lage von L4 = -197,45 mm nehmen, denn die "
        "Wege von L4 und L3 liefen ineinander."
    )


@pytest.mark.parametrize(
    ("english", "own"),
    [
        ("L2 can slip off LEDG1 and LEDG2.", "L2 kann von LEDG1 und LEDG2 rutschen."),
        ("L1, L2 and L3 can slip off LEDG2.", "L1, L2 und L3 können von LEDG2 rutschen."),
        ("Cut 4.5 mm off the end of S1", "Um 4,5 mm absägen: das Ende von S1"),
        (
            "Cut a new R1, if R1 is not glued yet, or glue a strip 6.0 mm wide onto the upper edge of R1",
            "R1 neu schneiden, falls R1 noch nicht verleimt ist, oder eine 6,0 mm breite Leiste auf die Oberkante "
            "von R1 leimen",
        ),
    ],
)
def test_what_helps_is_said_as_one_would(german, english, own):
    """Written by hand."""
    assert german.said(english) == own


def test_all_answers_and_what_is_said_seldom_can_be_said(german):
    assert sorted(words_shown.unsaid(german, {*words_shown.answers(), *words_shown.sentences()})) == []


@pytest.mark.parametrize(
    ("english", "own"),
    [
        ("clear, smallest clearance 1.5 mm", "frei, kleinstes Spiel 1,5 mm"),
        ("tight, 0.5 mm", "eng, 0,5 mm"),
        ("blocked, wood 2.0 mm in the way", "blockiert, 2,0 mm Holz im Weg"),
        ("all of 10,000 work", "alle 10.000 passen"),
        (
            "174 of 200 tables (87 %) work, the worst of them lacks 0.3 mm",
            "174 von 200 Tischen (87 %) passen, dem schlechtesten fehlen 0,3 mm",
        ),
        ("steer to ±1.4 mm", "auf ±1,4 mm lenken"),
        ("window for L4: sill height", "Ausschnitt für L4: Höhe der Unterkante"),
        ("leg board, back left, long side", "Beinbrett, hinten links, lange Zarge"),
        ("clears S1 by 1/16 in", "1/16 in Spiel zu S1"),
        ("Entry, held by one opening, 3 mm to 82.4 mm: push anywhere.",
         "Eingang, von einer Öffnung gehalten, 3 mm bis 82,4 mm: beliebig schieben."),
        (
            "R3 is 4.0 mm too long at S2; pressed toward S1, S2 stands 4.0 mm out and no leaf is stopped.",
            "R3 ist bei S2 4,0 mm zu lang; gegen S1 gedrückt steht S2 4,0 mm heraus und wird keine Einlegeplatte"
            " angehalten.",
        ),
        ("Trim 4 mm off the end of R3 at S2, if R3 is not glued yet",
         "4 mm vom Ende von R3 bei S2 abnehmen, falls R3 noch nicht verleimt ist"),
        ("L1, L2 and L4 need steering with a hand at the nose; L3 needs steering to ±0.47 mm at the outer end.",
         "L1, L2 und L4 müssen mit einer Hand am Vorderende gelenkt werden; L3 muss am Außenende auf ±0,47 mm gelenkt"
         " werden."),
        ("12.5 mm", "12,5 mm"),
    ],
)  # fmt: skip
def test_sentences_with_numbers_are_said_by_their_patterns(german, english, own):
    """Written by hand."""
    assert shown(english) == own


def test_what_cannot_be_said_as_a_whole_stays_english(german):
    odd = "clear, smallest clearance nobody knows"
    assert shown(odd) == odd
    assert reported("Done: {remedy}", remedy="Plane it by some magic") == "Done: Plane it by some magic"
    assert reported("Kept as preset {name}", name="Clear") == "Als Vorlage Clear aufbewahrt"
    assert (
        told("Saved {file}", file="/tmp/Side.svg")
        == told("Saved /tmp/Side.svg")
        == "Gespeichert: /tmp/Side.svg"
    )
    assert reported("Braces {in a} name") == "Braces {in a} name"


def test_a_file_that_is_not_ready_shows_english():
    """An entry that is empty, and one whose holes were lost or misspelled."""
    text = """
msgid "Check"
msgstr ""

msgid "Use {value}"
msgstr "Nimm {Wert}"

msgid "Two \\"lines\\" "
"of text"
msgstr ""
"Zwei \\"Zeilen\\" "
"Text"
"""
    assert read(text) == {'Two "lines" of text': 'Zwei "Zeilen" Text'}


def test_english_stays_as_it_is(scene):
    """Blender as a module has no locale, which means English."""
    words = next(read(path.read_text(encoding="utf-8")) for path in FILES)
    for text in words:
        assert shown(text) == told(text) == reported(text) == text
    assert translation.figures("1,234.5 mm") == "1,234.5 mm"


def test_what_is_switched_off_stays_english(german):
    view = bpy.context.preferences.view
    view.use_translate_interface = False
    assert (shown("Check"), told("Check")) == ("Check", "Prüfen")
    view.use_translate_tooltips = False
    assert told("Check") == "Check"


class Noted(dict[str, str]):
    """Words that note which of them were asked for."""

    def __init__(self, words: dict[str, str]) -> None:
        super().__init__(words)
        self.asked: set[str] = set()

    def __getitem__(self, text: str) -> str:
        self.asked.add(text)
        return super().__getitem__(text)

    def get(self, text: str, default: str = "") -> str:  # type: ignore[override]
        self.asked.add(text)
        return super().get(text, default)


def test_no_entry_is_unused(german):
    words = Noted(german.words)
    language = Language(words)
    said = [
        *words_shown.registered(),
        words_shown.in_sources(),
        words_shown.answers(),
        words_shown.sentences(),
        words_shown.advice_on_faults(),
        words_shown.refusals(),
        [f"L4's {own}" for own in ("offset", "side", "tier")],  # as refusals name a position's entries
    ]
    for text in (QUILTING, SEED_BENCH, LOW_WINDOW, WIDE_LEAF, LONG_RIB):
        state = tables.create_table(bpy.context.scene, text)
        tables.pending.flush()
        tables.find_remedies(state)
        analyze_now(state)
        said += [
            list(words_shown.said_of(state)),
            words_shown.advice_of(state),
            words_shown.dimensions_of(built.assembly_of(built.table_of(text))),
        ]
    for texts in said:
        for text in texts:
            language.said(text)
    assert sorted(words.keys() - words.asked) == []
