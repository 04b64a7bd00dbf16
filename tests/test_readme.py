"""The README keeps its word: two set-up commands, and a walk-through that does what it shows."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest

from barnloom.viewer.command import main

TEXT = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
BLOCK = re.compile(r"^```([\w-]+)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
WALK = TEXT.partition("## Your own building in ten minutes")[2].partition("\n## ")[0]


def test_exactly_two_set_up_commands_stand_first_one_line_each() -> None:
    blocks = BLOCK.findall(TEXT)
    assert [kind for kind, _ in blocks].count("sh") == 2
    assert [kind for kind, _ in blocks[:2]] == ["sh", "sh"]
    assert [body.count("\n") for _, body in blocks[:2]] == [1, 1]


def test_every_file_that_it_names_is_there() -> None:
    targets = re.findall(r"\]\(([^)#]+)\)", TEXT)
    assert targets
    missing = [name for name in targets if not (Path(__file__).parents[1] / name).exists()]
    assert missing == []


def test_the_walk_through_does_what_it_shows(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Commands are run in order, YAML is added to the scene, a report is a file; shown output has to come."""
    monkeypatch.chdir(tmp_path)
    steps = 0
    for kind, body in BLOCK.findall(WALK):
        if kind == "yaml":
            with (tmp_path / "mine.yaml").open("a", encoding="utf-8") as scene:
                scene.write("\n" + body)
            continue
        if kind == "text":
            (tmp_path / "done.txt").write_text(body, encoding="utf-8")
            continue
        assert kind == "console"
        for command, shown in re.findall(r"^\$ (.*)\n((?:(?!\$ ).*\n)*)", body, re.MULTILINE):
            words = shlex.split(command)
            assert words[0] == "barnloom"
            pictures = ["--no-pictures"] if words[1] in ("plan", "asbuilt") else []
            code = main([*words[1:], *pictures])
            said = capsys.readouterr()
            assert code == (2 if "found a box" in shown else 0), (command, said.err)
            for line in shown.splitlines():
                assert line in (said.out + said.err).splitlines(), (command, said.out + said.err)
            steps += 1
    assert steps > 10
