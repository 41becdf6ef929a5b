"""`blender --command dry_assembly`: the command line, registered with Blender."""

from __future__ import annotations

import json

import bpy

from addon.command_line import blender

from .conftest import LOW_WINDOW, QUILTING


def test_the_command_is_registered_under_its_name_and_taken_back(empty, monkeypatch):
    known = {}

    def register(name, run):
        known[name] = run
        return name

    monkeypatch.setattr(bpy.utils, "register_cli_command", register)
    monkeypatch.setattr(bpy.utils, "unregister_cli_command", known.pop)
    blender.register()
    assert set(known) == {"dry_assembly"}
    blender.unregister()
    blender.unregister()
    assert known == {}


def test_the_command_checks_a_file(scene, tmp_path, capsys):
    for text, status, verdict in ((QUILTING, 0, "clear"), (LOW_WINDOW, 1, "blocked")):
        path = tmp_path / "table.toml"
        path.write_text(text)
        assert blender._run(["check", str(path), "--json"]) == status
        document = json.loads(capsys.readouterr().out)
        assert document["verdict"] == verdict
        assert len(document["leaves"]) == 4
