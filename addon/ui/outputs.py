"""The buttons that make files: pictures, pages, the video, lists."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any, Final

from bpy.types import Context, Event, Operator

from ..check.progress import Steps, share_of
from ..designs.table.parameters import Table
from ..paper.filmstrip_page import filmstrip
from ..paper.sheet.save import drawing_bytes, save_pictures
from ..paper.sheet.sheet import A4
from ..paper.shop.shop_set import save_set, shop_set_steps
from ..paper.slide_page.page import SLIDE_NAMES, slide_files
from ..paper.steps.pages import save_steps, step_files
from ..paper.tolerance_page import tolerance_pages
from ..paper.views import SHEETS
from ..scene import access, built, families, parts, tolerances, variants
from ..scene.pictures import on_paper, rendering
from ..scene.pictures.rendering import Kind
from ..scene.state.properties import DRY_ASSEMBLY_PG_table as TableState
from ..scene.translation import EnumProperty, told
from ..sizes.errors import DryAssemblyError
from .operator_kinds import RenderOperator, SaveOperator, looking
from .preview import chosen_pages


class DRY_ASSEMBLY_OT_save_picture(RenderOperator, Operator):
    bl_idname = "dry_assembly.save_picture"
    bl_label = "Save Picture"
    bl_description = (
        "Save the table to scale on a sheet of paper with its title block."
        " An older picture of that name is replaced"
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self._made(context, self.start)

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self._made(context, self.wait)

    def _made(self, context: Context, make: Callable[[Context, Kind], set[Any]]) -> set[Any]:
        try:
            kind = on_paper.kind_of(self.table(context), date.today().isoformat(), looking(context))
        except DryAssemblyError as error:
            return self.refused(context, error)
        return make(context, kind)


class DRY_ASSEMBLY_OT_render_picture(RenderOperator, Operator):
    bl_idname = "dry_assembly.render_picture"
    bl_label = "Render Picture"

    kind: EnumProperty(
        name="Picture",
        items=[(name, kind.label, kind.meaning) for name, kind in rendering.KINDS.items() if name != "video"],
    )

    @classmethod
    def description(cls, _context: Context, properties: Any) -> str:
        """What the picture shows."""
        return told(
            "{picture}. An older picture of that name is replaced",
            picture=rendering.KINDS[properties.kind].meaning,
        )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self.start(context, rendering.KINDS[self.kind])

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self.wait(context, rendering.KINDS[self.kind])


class DRY_ASSEMBLY_OT_render_video(RenderOperator, Operator):
    bl_idname = "dry_assembly.render_video"
    bl_label = "Render Video"
    bl_description = (
        "A video of the leaves sliding home one after the other. An older video of that name is replaced"
    )

    def invoke(self, context: Context, _event: Event) -> set[Any]:
        """Renders while the window goes on."""
        return self.start(context, rendering.KINDS["video"])

    def execute(self, context: Context) -> set[Any]:
        """Renders, and waits."""
        return self.wait(context, rendering.KINDS["video"])


class DRY_ASSEMBLY_OT_save_sliding_in_pictures(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_sliding_in_pictures"
    bl_label = "Save Pictures of Sliding In"
    bl_description = (
        "Draw every leaf among its openings, from the side and from above, as SVG for paper and PNG for the screen."
        " Older drawings of these names are replaced; Esc stops it"
    )
    what = "Drawing the leaves among their openings"

    def files(self, _context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one leaf after the other."""
        told = yield from share_of(built.told_steps(table), 0.0, 0.2)
        own = slide_files(table, built.proofs_of(table), date.today().isoformat(), told=told)
        return (yield from share_of(own, 0.2, 1.0))

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "sliding-in")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them together."""
        save_pictures(files, folder, SLIDE_NAMES)


class DRY_ASSEMBLY_OT_save_filmstrips(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_filmstrips"
    bl_label = "Save Filmstrips"
    bl_description = (
        "Draw each leaf at the moments of its way that matter, the tightest places enlarged: a sheet for each leaf, of"
        " the size and format set under Output. Older sheets of these names are replaced; Esc stops it"
    )
    what = "Drawing the leaves on their way"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one leaf after the other."""
        choice, today = context.scene.dry_assembly.sheet, date.today().isoformat()
        prepared, files = built.prepared_of(table), {}
        answer = (yield from share_of(built.told_steps(table), 0.0, 0.2)).table
        leaves = [path.leaf for path in prepared.assembly.stow_paths]
        for number, leaf in enumerate(leaves):
            yield 0.2 + 0.8 * number / len(leaves)
            drawing = filmstrip(
                table, prepared, date=today, leaves=[leaf], sheet=SHEETS.get(choice.size), answer=answer
            )
            name = f"{leaf}-filmstrip.{choice.format}"
            files[name] = drawing_bytes(drawing, name, choice.dpi)
        return files

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "filmstrips")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them together."""
        save_pictures(files, folder, r"\w+-filmstrip")


class DRY_ASSEMBLY_OT_save_step_pictures(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_step_pictures"
    bl_label = "Save Step Pictures"
    bl_description = (
        "Draw a proposed order of assembly: a sheet for each step and one with all of them, of the size and format set"
        " under Output. Older sheets of these names are replaced when all new ones are there; Esc stops it"
    )
    what = "Drawing the steps of assembly"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws one step after the other."""
        choice, today = context.scene.dry_assembly.sheet, date.today().isoformat()
        assembly, sheet = built.assembly_of(table), SHEETS.get(choice.size, A4)
        answer = (yield from share_of(built.told_steps(table), 0.0, 0.2)).table
        own = step_files(
            assembly, table.units, choice.format, date=today, sheet=sheet, dpi=choice.dpi, answer=answer
        )
        return (yield from share_of(own, 0.2, 1.0))

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "steps")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them; sheets of an older order that had more steps go."""
        save_steps(files, folder)


class DRY_ASSEMBLY_OT_save_exploded_view(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_exploded_view"
    bl_label = "Save Exploded View"
    bl_description = (
        "Save the exploded table on a sheet of paper, seen and labeled as chosen for pictures on paper."
        " An older picture of that name is replaced; Esc stops it"
    )
    what = "Drawing the exploded table"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Draws it."""
        today = date.today().isoformat()
        return on_paper.exploded_files(self.table(context), table, today, looking(context))


class DRY_ASSEMBLY_OT_save_variants_picture(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_variants_picture"
    bl_label = "Save Picture of Variants"
    bl_description = (
        "Draw the variants side by side at one scale, with the figures that differ, seen as chosen for pictures on"
        " paper. An older picture of that name is replaced; Esc stops it"
    )
    what = "Drawing the variants"

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """Variants, all of which can be built."""
        members = families.family_of(state)
        if not members:
            return "Add a variant first"
        wrong = [one.name for one in members if one.error]
        return f"Correct {wrong[0]} first: it cannot be built" if wrong else ""

    def files(self, context: Context, _table: Table) -> Steps[dict[str, bytes]]:
        """Draws them."""
        return variants.picture_files(self.table(context), date.today().isoformat(), looking(context))


class DRY_ASSEMBLY_OT_save_tolerance_pages(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_tolerance_pages"
    bl_label = "Save Tolerance Pages"
    bl_description = (
        "Analyze the tolerances, and draw for each leaf which dimensions matter most."
        " Older pages of these names are replaced; Esc stops it"
    )
    what = "Analyzing tolerances"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Analyzes, then draws one page after the other."""
        choice, today = context.scene.dry_assembly.sheet, date.today().isoformat()
        answer = yield from share_of(built.told_steps(table), 0.0, 0.2)
        count = context.scene.dry_assembly.tolerance_count
        report = yield from share_of(tolerances.steps(table, count), 0.2, 0.9)
        pages = dict(tolerance_pages(report, table.units, today, answer))
        files = {}
        for number, (name, drawing) in enumerate(pages.items()):
            yield 0.9 + 0.1 * number / len(pages)
            files[f"{name}.{choice.format}"] = drawing_bytes(drawing, f"{name}.{choice.format}", choice.dpi)
        return files

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "tolerances")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them together."""
        save_pictures(files, folder, r"\w+-(side|plan)-dimensions")


class DRY_ASSEMBLY_OT_save_shop_set(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_shop_set"
    bl_label = "Save Shop Set"
    bl_description = (
        "Make the papers for the shop, as one PDF and each page alone, in a folder. An older set there is replaced when"
        " all of the new one is there; Esc stops it"
    )
    what = "Making the papers for the shop"

    @classmethod
    def lacks(cls, state: TableState) -> str:
        """A kind of page."""
        chosen = access.scene_of(state).dry_assembly.sheet.shop_pages
        return "" if chosen else "Choose what pages the set is to have first"

    def files(self, context: Context, table: Table) -> Steps[dict[str, bytes]]:
        """Makes one page after the other, of the kinds that are chosen."""
        assembly, today = built.assembly_of(table), date.today().isoformat()
        files, _ = yield from shop_set_steps(table, assembly, date=today, kinds=chosen_pages(context))
        return files

    def folder(self, state: TableState) -> Path:
        """Where they go."""
        return rendering.path_of(state, "shop-set")

    def save(self, files: dict[str, bytes], folder: Path) -> None:
        """Saves them together."""
        save_set(files, folder)


class DRY_ASSEMBLY_OT_save_parts(SaveOperator, Operator):
    bl_idname = "dry_assembly.save_parts"
    bl_label = "Save Parts List"
    bl_description = (
        "Save label, name, sizes and sheet of every part as comma-separated values, in the order chosen under Parts."
        " An older list of that name is replaced"
    )
    what = "Listing the parts"

    def files(self, context: Context, _table: Table) -> Steps[dict[str, bytes]]:
        """Lists them."""
        state = self.table(context)
        yield 0.0
        return {rendering.path_of(state, "parts.csv").name: parts.as_csv(state).encode("utf-8")}


CLASSES: Final[tuple[Any, ...]] = (
    DRY_ASSEMBLY_OT_render_picture,
    DRY_ASSEMBLY_OT_render_video,
    DRY_ASSEMBLY_OT_save_sliding_in_pictures,
    DRY_ASSEMBLY_OT_save_filmstrips,
    DRY_ASSEMBLY_OT_save_step_pictures,
    DRY_ASSEMBLY_OT_save_picture,
    DRY_ASSEMBLY_OT_save_exploded_view,
    DRY_ASSEMBLY_OT_save_variants_picture,
    DRY_ASSEMBLY_OT_save_tolerance_pages,
    DRY_ASSEMBLY_OT_save_shop_set,
    DRY_ASSEMBLY_OT_save_parts,
)
