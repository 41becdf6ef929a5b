"""The text of a table file under change, with its comments, order and spelling: tomlkit does the round trip.

tomlkit puts new keys at the very end of a section, below comments that speak of the next one, and drops the
comments within a removed entry; both are mended here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, Final

from ..designs.table.parameters import LISTS, SECTIONS, Table
from ..sizes.declare import Parameter, parameters
from ..sizes.errors import DryAssemblyError
from ..sizes.quantities import read_quantity, spell_quantity
from ..sizes.units import Units, parse_length, spell_length
from ..wood.stock import standard_stock
from .keys import SPELLINGS, Key, by_section, read_value
from .old_format import FORMAT, KEY_NAMES, SECTION_NAMES, value_of_today

if TYPE_CHECKING:
    from tomlkit import TOMLDocument
    from tomlkit.items import Item


_GONE: Final = "# this header goes"
"""Marks the header of an entry for removal."""


class TableEditor:
    """The text of a table file under change."""

    def __init__(self, text: str, old_units: Units, units: Units) -> None:
        """`old_units` are those that the text is written in, `units` those that it shall be written in."""
        try:
            import tomlkit
            from tomlkit import items
        except ImportError:
            message = (
                "Changing a table file in place needs the Python package tomlkit; install it, or save anew."
            )
            raise DryAssemblyError(message) from None
        self._kit = tomlkit
        self._items = items
        self._document: TOMLDocument = tomlkit.parse(text)
        self._old_units: Units = old_units
        self._units: Units = units

    def text(self) -> str:
        """The text as it is now."""
        return self._document.as_string()

    def change(self, changes: list[tuple[Key, object]], standard_stock: list[dict[str, Any]]) -> None:
        """Make changes in order, lengths in mm; `standard_stock` is what a file without [[stock]] has."""
        if self._units != self._old_units:
            self._respell()
        if any(key.section == "stock" for key, _ in changes) and not self._document.get("stock"):
            self._write_stock(standard_stock)
        for key, value in changes:
            if not key.name:
                self._remove_entry(key.section, key.index or 0)
            elif value is None:
                self._remove(key)
            else:
                self._set(key, value)

    def renew(self, *, names: bool) -> None:
        """Write a text of an old format in today's: its keys and words where it has old `names`, and which format it
        is."""
        if not names:
            self._replace(self._document, "format", FORMAT)
            return
        self._rename(self._document.body, SECTION_NAMES)
        self._parse(self.text())
        for section, home in self._homes():
            if not isinstance(home, self._items.Table | self._items.InlineTable):
                continue  # spread over the file; the text will be found to differ
            self._rename(
                home.value.body, {old: new for (place, old), new in KEY_NAMES.items() if place == section}
            )
            for key, item in home.value.body:
                if key is not None:
                    self._reword(section, key.key, home, _plain(item))
        self._parse(_with_format(self.text()))

    def _rename(self, body: list[tuple[Any, Any]], names: Mapping[str, str]) -> None:
        """Give keys of a section other names; a comment in a column behind one stays in its column."""
        taken = {key.key for key, _ in body if key is not None}
        for index, (key, item) in enumerate(body):
            if key is None or key.key not in names or names[key.key] in taken:
                continue
            old, new = key.key, names[key.key]
            written = key.as_string().replace(old, new)
            pattern = f"{written}.x = 0" if key.is_dotted() else f"{written}{key.sep or ' = '}0"
            body[index] = (self._kit.parse(pattern).body[0][0], item)
            header = getattr(item, "display_name", None)
            if header is not None:
                item.display_name = header.replace(old, new)
            trivia = getattr(item, "trivia", None)
            if trivia is not None and trivia.comment and len(trivia.comment_ws) > 1:
                trivia.comment_ws = " " * max(len(trivia.comment_ws) + len(old) - len(new), 2)

    def _reword(self, section: str, name: str, home: Any, written: Any) -> None:
        """Write a value of an old format in today's words."""
        parameter = by_section()[section].get(name)
        if parameter is None:
            return
        today = value_of_today(section, parameter, written, self._old_units)
        if parameter.kind == "choice":
            today = SPELLINGS.get(today, today)
        if today != written:
            self._replace(home, name, today)

    def write_out(self, wanted: Table) -> None:
        """Write out what is left out and in `wanted` is not today's default."""
        if not self._document.get("stock") and wanted.stock != standard_stock(self._units):
            self._write_stock([given(entry) for entry in wanted.stock])
        for section, items in by_section().items():
            if section not in LISTS:
                self._write_out(
                    Key(section, None, ""), items, getattr(wanted, section) if section else wanted
                )
            elif section in self._document:
                for index, entry in enumerate(getattr(wanted, section)):
                    self._write_out(Key(section, index, ""), items, entry)

    def _write_out(self, place: Key, items: Mapping[str, Parameter], wanted: object) -> None:
        home: Any = self._document.get(place.section, {}) if place.section else self._document
        held: Mapping[str, Any] = home if place.index is None else home[place.index]
        for name, parameter in items.items():
            value = getattr(wanted, name)
            left_out = name not in held and value is not None and not parameter.required
            if left_out and value != parameter.default_in(self._units):
                self._set(Key(place.section, place.index, name), value)

    def _parse(self, text: str) -> None:
        self._document = self._kit.parse(text)

    # Setting

    def _set(self, key: Key, value: object) -> None:
        parameter = by_section()[key.section][key.name]
        held = read_value(parameter, str(key), value, "mm")
        written = self._written(parameter, held)
        home = self._home(key)
        if key.name not in home:
            self._add(home, key.name, self._kit.item(written))
        elif read_value(parameter, str(key), _plain(home[key.name]), self._units) != held:
            self._replace(home, key.name, written)

    def _replace(self, home: Any, name: str, written: object) -> None:
        """Give a key another value; a comment in a column behind it stays in its column."""
        old, item = home[name], self._kit.item(written)
        trivia = getattr(old, "trivia", None)
        if trivia is not None and trivia.comment and len(trivia.comment_ws) > 1:
            room = len(old.as_string()) + len(trivia.comment_ws) - len(item.as_string())
            item.trivia.comment_ws = " " * max(room, 2)
        home[name] = item

    def _written(self, parameter: Parameter, held: Any) -> Any:
        """A value (lengths in mm, other quantities metric) as it is written."""
        if parameter.kind == "lengths":
            return [spell_length(item, self._units) for item in held]
        if parameter.kind == "length":
            return spell_length(held, self._units)
        return spell_quantity(held, parameter.unit, self._units) if parameter.kind == "number" else held

    def _home(self, key: Key) -> Any:
        """The section or entry that holds a key; it is made if it is not there."""
        if not key.section:
            return self._document
        if key.section not in self._document:
            self._blank_line()
            self._document.add(key.section, self._kit.table() if key.index is None else self._kit.aot())
        section: Any = self._document[key.section]
        if key.index is None:
            return section
        if key.index == len(section):
            inline = isinstance(section, self._items.Array)
            if not inline and key.index:
                self._blank_line()
                section = self._document[key.section]
            section.append(self._kit.inline_table() if inline else self._kit.table())
        return section[key.index]

    def _blank_line(self) -> None:
        """End the text with a blank line, so that a new section stands apart."""
        text = self.text()
        self._parse(text if not text or text.endswith("\n\n") else text + "\n")

    def _add(self, home: Any, name: str, item: Item) -> None:
        """Add a key where it stands commented out, or else behind the last one of its section."""
        home[name] = item
        if isinstance(home, self._items.Table):
            body = home.value.body
        elif isinstance(home, self._kit.TOMLDocument):
            body = home.body
        else:
            return
        place = _place_of(body, name)
        entry = body.pop(place)
        commented = re.compile(rf"#[ \t]*{name}[ \t]*=[^#]*")
        for index, (_, other) in enumerate(body):
            found = commented.match(other.as_string()) if isinstance(other, self._items.Comment) else None
            if found:
                self._uncomment(item, other.as_string(), found.end())
                body[index] = entry
                break
        else:
            keys = [index for index in range(place) if body[index][0] is not None]
            body.insert(self._end_of(body, keys[-1]) if keys else 0, entry)
        self._parse(self.text())  # tomlkit's own index of places is stale now

    def _uncomment(self, item: Item, line: str, end: int) -> None:
        """Give a key the explanation that stood behind it when it was commented out."""
        explanation = line[end:].strip()
        if explanation:
            room = end - len(line.split("=")[0].lstrip("# \t").rstrip()) - len(" = ") - len(item.as_string())
            item.trivia.comment = explanation
            item.trivia.comment_ws = " " * max(room, 2)

    def _end_of(self, body: list[tuple[Any, Any]], place: int) -> int:
        """Index behind the key at `place` and behind the indented comments that carry its explanation on."""
        place += 1
        while place < len(body) and isinstance(body[place][1], self._items.Comment):
            if not body[place][1].trivia.indent:
                break
            place += 1
        return place

    # Taking away

    def _remove(self, key: Key) -> None:
        home: Any = self._document
        if key.section:
            home = home.get(key.section, {})
        if key.index is not None:
            home = home[key.index]
        if key.name not in home:
            return
        if isinstance(home, self._items.Table):
            body = home.value.body
            place = _place_of(body, key.name)
            del body[place : self._end_of(body, place)]
            self._parse(self.text())
        else:
            del home[key.name]

    def _remove_entry(self, section: str, index: int) -> None:
        """Take an entry away; comments apart below it speak of what follows and stay."""
        entries: Any = self._document[section]
        entry = entries[index]
        if not isinstance(entry, self._items.Table):
            del entries[index]
            return
        body = entry.value.body
        last = max((place for place, (key, _) in enumerate(body) if key is not None), default=-1)
        tail = body[last + 1 :]
        while tail and not isinstance(tail[0][1], self._items.Whitespace):
            del tail[0]
        body[:] = tail if any(item.as_string().strip() for _, item in tail) else []
        entry.trivia.comment_ws, entry.trivia.comment = " ", _GONE
        before, _, after = self.text().partition(_GONE)
        before = before[: before.rfind("\n") + 1]
        self._parse(before + after.lstrip("\r\n"))

    # The whole file

    def _write_stock(self, stock: list[dict[str, Any]]) -> None:
        self._document.pop("stock", None)
        for index, entry in enumerate(stock):
            for name, value in entry.items():
                self._set(Key("stock", index, name), value)

    def _respell(self) -> None:
        """Write lengths that have no unit of their own in the new unit."""
        for section, home in self._homes():
            for name, parameter in by_section()[section].items():
                if name not in home or parameter.kind not in ("length", "lengths", "number"):
                    continue
                raw = _plain(home[name])
                held = _held(parameter, raw, self._old_units)
                if _held(parameter, raw, self._units) != held:
                    self._replace(home, name, self._written(parameter, held))

    def _homes(self) -> Iterator[tuple[str, Any]]:
        document: Any = self._document
        for section in SECTIONS:
            if section in document:
                yield section, document[section]
        for section in LISTS:
            for entry in document.get(section, []):
                yield section, entry


def _with_format(text: str) -> str:
    """A text with its format above its first key or section."""
    lines = text.splitlines(keepends=True)
    first = next(
        (index for index, line in enumerate(lines) if line.strip() and line.lstrip()[0] != "#"), len(lines)
    )
    apart = "\n" if first == len(lines) or lines[first].lstrip().startswith("[") else ""
    return "".join([*lines[:first], f"format = {FORMAT}\n{apart}", *lines[first:]])


def given(section: object) -> dict[str, Any]:
    """Parameters of a section (a dataclass) that are not left out; an empty text is none."""
    declared = [item.name for item in parameters(type(section))]
    values = {name: getattr(section, name) for name in declared}
    return {name: value for name, value in values.items() if value is not None and value != ""}


def _held(parameter: Parameter, raw: Any, units: Units) -> Any:
    """A written length, list of lengths or number as the model holds it, whatever its range."""
    if parameter.kind == "lengths":
        return tuple(parse_length(item, units) for item in raw)
    return (
        parse_length(raw, units) if parameter.kind == "length" else read_quantity(raw, parameter.unit, units)
    )


def _place_of(body: list[tuple[Any, Any]], name: str) -> int:
    """Index of a key in the body of a section."""
    return next(index for index, (key, _) in enumerate(body) if key is not None and key.key == name)


def _plain(item: Any) -> Any:
    """The plain value of a tomlkit item."""
    return item.unwrap() if hasattr(item, "unwrap") else item
