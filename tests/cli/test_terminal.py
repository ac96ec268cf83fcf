"""How words and tables are laid out, and that what a person wrote is shown as it stands."""

import io
import sys
from pathlib import Path

import pytest

from moldgen.cli import terminal
from moldgen.cli.size import run

IDLER = Path(__file__).parents[2] / "part_specs" / "loop_idler.yaml"


class Screen(io.StringIO):
    def isatty(self):
        return True


@pytest.fixture
def shown(monkeypatch, capsys):
    """Calls something in so many columns; gives the lines that it prints."""

    def lines_of(call, *arguments, columns):
        monkeypatch.setenv("COLUMNS", str(columns))
        call(*arguments)
        return capsys.readouterr().out.splitlines()

    return lines_of


def test_brackets_in_a_spec_are_shown_and_steer_nothing(shown, tmp_path):
    spec = tmp_path / "deck.yaml"
    text = IDLER.read_text(encoding="utf-8")
    spec.write_text(text.replace("machine: loop player", "machine: deck [/bold] [red]4[:smile:]"), encoding="utf-8")
    lines = shown(lambda: run([spec], strict=False, as_json=False), columns=120)
    assert "deck [/bold] [red]4[:smile:]" in lines[1]


def test_the_lines_of_a_paragraph_stand_under_its_first_word(shown):
    assert shown(terminal.say, "  Mind: one two three", columns=11) == ["  Mind: one", "  two three"]


@pytest.mark.parametrize("columns", range(1, 60, 7))
def test_no_line_is_longer_than_there_is_room_and_no_letter_is_lost(shown, columns):
    text = "Vulkanisationsgeschwindigkeit of the mix, 23 °C; é and ゴム beside it"
    lines = shown(terminal.say, text, columns=columns)
    # Japanese letters take two places (Unicode annex 11), an accent of its own none.
    assert max(len(line) + sum(sign in "ゴム" for sign in line) for line in lines) <= max(columns, 2)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_a_table_gives_numbers_the_room_they_need_and_wraps_the_words_beside_them(shown):
    table = terminal.Table(("", False), ("range", True), ("because", False))
    table.add_row("nip width", "0.933 to 1.29", "rubber bonded to a round core")
    table.add_row("force", "0.9", "friction")
    assert shown(table.show, columns=40) == [
        "                    range   because",
        "────────────────────────────────────────",
        "nip width   0.933 to 1.29   rubber",
        "                            bonded to a",
        "                            round core",
        "force                 0.9   friction",
    ]


def test_words_are_cut_only_where_nothing_else_helps(shown):
    table = terminal.Table(("class", False), ("mix", True))
    table.add_row("polyurethane", "100 : 96")
    # Twelve letters and three: wide apart they need 18 columns, close together 16.
    assert shown(table.show, columns=18)[2:] == ["polyurethane   100", "                 :", "                96"]
    assert shown(table.show, columns=16)[2:] == ["polyurethane 100", "               :", "              96"]
    assert shown(table.show, columns=10)[2][:6] == "polyur"


def test_marks_are_there_on_a_terminal_only_and_close_with_each_line(monkeypatch, capsys):
    assert terminal.marked("bad", "bad") == "bad"
    screen = Screen()
    monkeypatch.setattr(sys, "stdout", screen)
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("COLUMNS", "8")
    terminal.say(terminal.marked("two words", "strong") + " more")
    assert screen.getvalue().splitlines() == ["\x1b[1mtwo\x1b[0m", "\x1b[1mwords\x1b[0m", "more"]
    monkeypatch.setenv("NO_COLOR", "1")
    assert terminal.marked("bad", "bad") == "bad"
