"""All words of the extension in the language of the interface, in a context of our own.

In a context of its own no word is taken for one of Blender's that is spelled alike: "Clear" of a table is not the
"Clear" that removes. A language is one file in `addon/languages`, named like its locale (``de.po``, ``pt_BR.po``), in
the form of GNU gettext. Blender is told of them all and looks up names of panels, fields and buttons, and tooltips;
what code puts together goes through `shown`, `told` and `reported`.

Sentences with numbers come in English from below. They are said again by their patterns: an entry with holes,
``smallest clearance {amount}``, stands for every sentence that fits it. In a hole are numbers and labels of parts, or
what is an entry itself. What fits nothing stays in English as a whole, so that no line is of two languages.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache, lru_cache, partial
from pathlib import Path
from typing import Any, Final, Literal, NamedTuple

import bpy

from ..sizes.typed import has_comma

CONTEXT: Final = "Dry Assembly"
FOLDER: Final = Path(__file__).parent.parent / "languages"
_OWNER: Final = __package__.removesuffix(".scene")

Kind = Literal["interface", "tooltips", "reports"]
"""What Blender's preferences have translated, or not."""

Words = dict[str, str]
"""English → another language."""


# -- what is shown


def shown(text: str, /, **values: object) -> str:
    """A label in the language of the interface, with values put into its holes."""
    return _said(text, values, "interface")


def told(text: str, /, **values: object) -> str:
    """A sentence for a tooltip in the language of those."""
    return _said(text, values, "tooltips")


def reported(text: str, /, **values: object) -> str:
    """A sentence for a report in the language of those."""
    return _said(text, values, "reports")


def figures(text: str) -> str:
    """Numbers with the decimal sign of the language, in words that were made with a point."""
    language = _language("interface")
    return text if language is None else language.figures(text)


def _said(text: str, values: dict[str, object], kind: Kind) -> str:
    """In English where it cannot be said as a whole."""
    language = _language(kind)
    if not values:
        return text if language is None else language.said(text) or text
    own = (
        None if language is None else language.filled(text, {name: str(one) for name, one in values.items()})
    )
    return text.format(**values) if own is None else own


def _language(kind: Kind) -> Language | None:
    """The language for one kind of words; None where they are to be English."""
    chosen = getattr(bpy.context.preferences.view, f"use_translate_{kind}", True)
    return language_of(_locale()) if chosen else None


def _locale() -> str:
    return bpy.app.translations.locale


# -- languages


@cache
def language_of(locale: str) -> Language | None:
    """That of a locale such as ``de_DE``; None where there is no file for it."""
    for name in dict.fromkeys((locale, locale.partition("@")[0], locale.partition("_")[0])):
        path = FOLDER / f"{name}.po"
        if name and path.is_file():
            return Language(_words_of(path), has_comma(name))
    return None


_HOLE: Final = re.compile(r"\{(\w+)\}")
_FREE: Final = frozenset({"name", "file", "key"})
"""Holes for what the user named, and for files: anything."""
_PLAIN: Final = frozenset(
    {"amount", "count", "few", "leaf", "number", "other", "part", "percent", "position", "travel"}
)
"""Holes for numbers, and for labels of parts."""
_FIGURE: Final = r"(?:(?<![A-Za-z])(?:mm|cm|m|in|ft|kg|lb|lbf|N|kN|[A-Z]+\d*|[xyz])(?![A-Za-z])|[^A-Za-z;])"
_FIGURES: Final = re.compile(f"{_FIGURE}*", re.ASCII)
"""Numbers, units and labels of parts: the same in all languages, but for the decimal sign."""
_SIGN: Final = re.compile(r"(?<=\d)[.,](?=\d)")
_OTHER: Final = {".": ",", ",": "."}
_SENTENCES: Final = re.compile(r"(?<=[a-z0-9)%]\.) (?=[A-Z])")
_OUTSIDE: Final = r"(?![^(]*\))"
"""Behind what is not in parentheses."""


class _Pattern(NamedTuple):
    english: str
    between: tuple[str, ...]
    """What stands between its holes, in order, from its start to its end."""
    least: re.Pattern[str]
    """With as little as fits in its first holes."""
    most: re.Pattern[str]
    """With as much."""

    def may_fit(self, text: str) -> bool:
        """Whether a text has all that stands between the holes: known at once, where looking closer takes longer."""
        first, *inner, last = self.between
        return text.startswith(first) and text.endswith(last) and all(one in text for one in inner)


class Language:
    """One language: its words, and sentences by their patterns."""

    def __init__(self, words: Words, comma: bool = False) -> None:
        """`comma`: whether its decimals have one."""
        self.words, self._comma = words, comma
        sentences = sorted((one for one in words if holes(one)), key=_fixed, reverse=True)
        self._patterns = [
            _Pattern(one, tuple(_HOLE.split(one)[::2]), _pattern(one, "+?"), _pattern(one, "+"))
            for one in sentences
        ]
        self.said = lru_cache(maxsize=2048)(self._say)

    def figures(self, text: str) -> str:
        """Numbers with the language's decimal sign."""
        return _SIGN.sub(lambda sign: _OTHER[sign[0]], text) if self._comma else text

    def filled(self, text: str, values: dict[str, str]) -> str | None:
        """An entry with values in its holes; None where it is no entry, or a value cannot be said."""
        if text not in self.words:
            return None
        said = {name: one if name in _FREE else self.said(one) for name, one in values.items()}
        return None if None in said.values() else self.words[text].format(**said)

    def _say(self, text: str) -> str | None:
        """A word or a sentence; None where it cannot be said as a whole."""
        if text in self.words:
            return self.words[text]
        if _FIGURES.fullmatch(text):
            return self.figures(text)
        for one in self._patterns:
            for fits in (one.least, one.most) if one.may_fit(text) else ():
                found = fits.fullmatch(text)
                own = None if found is None else self.filled(one.english, found.groupdict())
                if own is not None:
                    return own
        return self._say_in_parts(text)

    def _say_in_parts(self, text: str) -> str | None:
        """Sentences one by one, the clauses of one, and what it lists."""
        sentences = _SENTENCES.split(text)
        if len(sentences) > 1:
            return self._all_said(sentences, " ")
        if text.endswith("."):
            bare = self.said(text.removesuffix("."))
            return None if bare is None else f"{bare}."
        last = f" {self.words.get('and', '')} "
        for between, own in (("; ", "; "), (", and ", last), (", ", ", "), (" and ", last)):
            parts = re.split(between + _OUTSIDE, text)
            said = self._all_said(parts, own) if len(parts) > 1 else None
            if said is not None:
                return said
        return None

    def _all_said(self, texts: list[str], between: str) -> str | None:
        said = [self.said(one) for one in texts]
        return None if None in said else between.join(one for one in said if one is not None)


def _fixed(sentence: str) -> int:
    """Letters outside of holes: the more, the surer it is what was meant."""
    return len(_HOLE.sub("", sentence))


def _pattern(sentence: str, much: str) -> re.Pattern[str]:
    """No hole goes over the end of a sentence, nor over that of a clause but what the user named."""
    parts = [re.escape(part) for part in _HOLE.split(sentence)]
    for number in range(1, len(parts), 2):
        name = parts[number]
        inside = (
            r"(?:(?!\.\s[A-Z]).)"
            if name in _FREE
            else _FIGURE
            if name in _PLAIN
            else r"(?:(?!;|\.(?:\s|$)).)"
        )
        parts[number] = f"(?P<{name}>{inside}{much})"
    return re.compile("".join(parts), re.DOTALL)


def holes(text: str) -> set[str]:
    """Names of the holes in a text."""
    return set(_HOLE.findall(text))


# -- files


def read(text: str) -> Words:
    """The entries of a language file that are translated.

    One whose holes are not those of the English is left out, so that English is shown and nothing fails.
    """
    entries: list[dict[str, str]] = []
    kind = ""
    for line in text.splitlines():
        if not line.startswith('"'):
            kind, _, line = line.partition(" ")
            if kind == "msgid":
                entries.append({"msgid": "", "msgstr": ""})
        if kind in ("msgid", "msgstr") and entries:
            entries[-1][kind] += _unquoted(line)
    pairs = ((one["msgid"], one["msgstr"]) for one in entries)
    return {english: own for english, own in pairs if english and own and holes(english) == holes(own)}


@cache
def _words_of(path: Path) -> Words:
    """The entries of a file; they stay as they are while the extension is loaded, however often it is switched on."""
    return read(path.read_text(encoding="utf-8"))


_ESCAPED: Final = re.compile(r"\\(.)")
_MEANT: Final = {"n": "\n", "t": "\t"}


def _unquoted(text: str) -> str:
    if "\\" not in text:
        return text.strip()[1:-1]
    return _ESCAPED.sub(lambda found: _MEANT.get(found[1], found[1]), text.strip()[1:-1])


# -- what Blender is told

BoolProperty: Final = partial(bpy.props.BoolProperty, translation_context=CONTEXT)
EnumProperty: Final = partial(bpy.props.EnumProperty, translation_context=CONTEXT)
FloatProperty: Final = partial(bpy.props.FloatProperty, translation_context=CONTEXT)
IntProperty: Final = partial(bpy.props.IntProperty, translation_context=CONTEXT)
StringProperty: Final = partial(bpy.props.StringProperty, translation_context=CONTEXT)
"""Blender's properties with name and choices in our context; all of ours are made by these."""


def register() -> None:
    """Tells Blender of all languages; what it shows has to be registered already."""
    tooltips = _tooltips()
    languages = {}
    for path in FOLDER.glob("*.po"):
        words = _words_of(path)
        ours = {(CONTEXT, english): own for english, own in words.items()}
        anywhere = {(_ANYWHERE, english): own for english, own in words.items() if english in tooltips}
        languages[path.stem] = ours | anywhere
    bpy.app.translations.register(_OWNER, languages)


def unregister() -> None:
    """Takes them away."""
    bpy.app.translations.unregister(_OWNER)


_ANYWHERE: Final = "*"
"""The context in which Blender looks up descriptions of properties, whatever context these have."""


def _tooltips() -> set[str]:
    """Descriptions of our properties and of their choices."""
    found: set[str] = set()
    for base in (bpy.types.PropertyGroup, bpy.types.Operator, bpy.types.AddonPreferences):
        for kind in base.__subclasses__():
            if kind.__module__.startswith(f"{_OWNER}.") and kind.is_registered:
                for item in properties_of(kind):
                    found.add(item.description)
                    found.update(one.description for one in getattr(item, "enum_items_static", ()))
    return found


def properties_of(kind: Any) -> Iterator[Any]:
    """What Blender knows of the properties of a class of ours; it keeps those of operators elsewhere."""
    known = kind.bl_rna
    if issubclass(kind, bpy.types.Operator):
        group, _, name = kind.bl_idname.partition(".")
        known = getattr(getattr(bpy.ops, group), name).get_rna_type()
    own = {name for base in kind.__mro__ for name in getattr(base, "__annotations__", {})}
    return (item for item in known.properties if item.identifier in own)
