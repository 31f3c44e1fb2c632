"""An assembly's history in four lanes: filled happened, hollow comes, hatched is late."""

from __future__ import annotations

from datetime import date
from typing import Final

from reports.drawing.history import DrawnFact, DrawnLetter, DrawnObligation, History
from reports.drawing.svg import MONTHS, Sheet, text_width
from reports.drawing.tests_lane import field_tests_lane
from reports.drawing.window import Window

_HEAD: Final = 30.0
_OBLIGATIONS: Final = 74.0
_TESTS: Final = 146.0
_TESTS_BARE: Final = 62.0
_RUNG_STEP: Final = 13.0
_FLAG: Final = 13.0
_FACT_ROW: Final = 20.0


def timeline(history: History, *, today: date, window: Window) -> str:
    """The drawing of a history as SVG. Days outside the window are left to the tables below it."""
    facts = _rows_of_facts(history.facts, window=window)
    tops = _tops(history, facts=facts)
    sheet = Sheet(width=window.width, height=tops[-1] + 4, says=history.says)
    sheet.hatch("late" if window.names_inside else "late-wide")
    _calendar(sheet, window=window, today=today, tops=tops)
    _names(sheet, window=window, tops=tops, history=history)
    for obligation in history.obligations:
        _obligation(sheet, obligation, window=window, today=today, middle=tops[0] + 34)
    field_tests_lane(
        sheet, history, window=window, today_x=window.x(today), top=tops[1], bottom=tops[2]
    )
    _today(sheet, window=window, today=today, bottom=tops[-1])
    for letter in history.letters:
        if window.holds(letter.on):
            _letter(sheet, letter, window=window, foot=tops[3] - 12)
    for fact, row in facts:
        _fact(sheet, fact, window=window, baseline=tops[3] + 26 + row * _FACT_ROW)
    return sheet.markup()


def _tops(history: History, *, facts: list[tuple[DrawnFact, int]]) -> tuple[float, ...]:
    tallest = max((letter.rung for letter in history.letters), default=1)
    letters = 34 + _RUNG_STEP * max(tallest, 3) + 10
    rows = 1 + max((row for _, row in facts), default=0)
    edges = [_HEAD]
    is_measured = any(test.reading is not None for test in history.tests)
    tests = _TESTS if is_measured else _TESTS_BARE
    for height in (_OBLIGATIONS, tests, letters, 22 + rows * _FACT_ROW):
        edges.append(edges[-1] + height)
    return tuple(edges)


def _calendar(sheet: Sheet, *, window: Window, today: date, tops: tuple[float, ...]) -> None:
    bottom = tops[-1]
    for year in range(window.from_on.year, window.until_on.year + 1):
        for month in (1, 4, 7, 10):
            on = date(year, month, 1)
            if window.holds(on):
                look = "hair" if month == 1 else "dotted"
                sheet.line(window.x(on), _HEAD, window.x(on), bottom, look=look)
        on = max(date(year, 1, 1), window.from_on)
        room = window.x(min(date(year, 12, 31), window.until_on)) - window.x(on)
        clear = abs(window.x(on) + 18 - window.x(today)) > 70 or window.x(on) > window.x(today)
        if room > 34 and clear:
            sheet.text(window.x(on) + 4, 20, str(year), look="bold")
    sheet.line(window.left, _HEAD, window.width, _HEAD, look="ink w1")
    for y in tops[1:-1]:
        sheet.line(0, y, window.width, y, look="hair")


def _names(sheet: Sheet, *, window: Window, tops: tuple[float, ...], history: History) -> None:
    reading = history.reading
    shown = f"{reading.name}, {reading.unit}" if reading else ""
    if window.names_inside:
        tests = shown[:1].upper() + shown[1:] if shown else "Field tests"
        for y, words in zip(
            tops, ("Obligations", tests, "Letters, by rung", "Facts"), strict=False
        ):
            sheet.text(0, y + 16, words, look="second")
        return
    for y, words, under in zip(
        tops,
        ("Obligations", "Field tests", "Letters", "Facts"),
        ("", shown, "by rung", ""),
        strict=False,
    ):
        drop = 26 if under or words == "Facts" else 38
        sheet.text(0, y + drop, words, look="bold")
        for number, part in enumerate(_broken(under, at=16)):
            sheet.text(0, y + drop + 16 * (number + 1), part, look="second")


def _broken(words: str, *, at: int) -> list[str]:
    lines: list[str] = []
    for word in words.split():
        if lines and len(lines[-1]) + len(word) < at:
            lines[-1] += f" {word}"
        else:
            lines.append(word)
    return lines


def _obligation(
    sheet: Sheet, owed: DrawnObligation, *, window: Window, today: date, middle: float
) -> None:
    end = owed.closed_on or max(today, owed.due_on)
    if end < window.from_on or owed.opens_on > window.until_on:
        return
    x = window.x
    start = x(max(owed.opens_on, window.from_on))
    last = x(min(end, window.until_on, today) if owed.closed_on is None else end)
    due = x(min(max(owed.due_on, window.from_on), window.until_on))
    late = owed.due_on < (owed.closed_on or today)
    if owed.opens_on <= today:
        if window.holds(owed.opens_on):
            sheet.line(start, middle - 7, start, middle + 7, look="ink w2")
        sheet.line(
            start, middle, max(min(last, due) if late else last, start), middle, look="ink w2"
        )
    if late:
        name = "late" if window.names_inside else "late-wide"
        sheet.rect(due, middle - 5.5, last - due, 11, look="hatched", fill=name)
    if window.holds(owed.due_on):
        look = "ink w2" if owed.opens_on <= today else "edge w1"
        sheet.line(due, middle - 13, due, middle + 13, look=look)
    if owed.closed_on is not None:
        look = "solid" if owed.closed_how == "met" else "hollow"
        sheet.dot(x(owed.closed_on), middle, 4.6, look=look)
    elif late:
        sheet.text(last, middle + 25, f"due {_written(owed.due_on)}", look="past end")
    elif owed.due_on >= today and window.holds(owed.due_on):
        label = f"due {_written(owed.due_on)}"
        room = due + text_width(label) < window.width
        sheet.text(
            due + 5 if room else due - 5,
            middle + 25,
            label,
            look="worked" + ("" if room else " end"),
        )


def _written(on: date) -> str:
    return f"{MONTHS[on.month - 1]}\N{NO-BREAK SPACE}{on.day}, {on.year}"


def _letter(sheet: Sheet, letter: DrawnLetter, *, window: Window, foot: float) -> None:
    x = window.x(letter.on)
    top = foot - 12 - _RUNG_STEP * max(letter.rung, 1)
    tone = "red" if letter.is_grave else "ink"
    sheet.line(x, foot, x, top, look=f"{tone} w1")
    flag = _FLAG + max(len(letter.figure) - 1, 0) * 6
    if letter.is_prepared:
        sheet.rect(x, top, flag, _FLAG, look="hollow-red" if letter.is_grave else "hollow")
        figure_look = "in-flag open middle" + ("" if letter.is_grave else " calm")
    else:
        sheet.rect(x, top, flag, _FLAG, look="solid-red" if letter.is_grave else "solid")
        figure_look = "in-flag middle"
    sheet.text(x + flag / 2, top + 10.2, letter.figure, look=figure_look)


def _rows_of_facts(facts: tuple[DrawnFact, ...], *, window: Window) -> list[tuple[DrawnFact, int]]:
    """Each fact with a row where its words touch no earlier ones."""
    ends: list[float] = []
    placed: list[tuple[DrawnFact, int]] = []
    for fact in sorted(facts, key=lambda one: one.on):
        if not window.holds(fact.on):
            continue
        start = window.x(fact.on)
        row = next((number for number, end in enumerate(ends) if end < start), len(ends))
        end = start + 16 + text_width(fact.words)
        ends[row : row + 1] = [end]
        placed.append((fact, row))
    return placed


def _fact(sheet: Sheet, fact: DrawnFact, *, window: Window, baseline: float) -> None:
    x = window.x(fact.on)
    look = "hollow" if fact.is_withdrawn else "solid"
    sheet.path(f"M{x - 4.5:.1f} {baseline - 9:.1f}h9l-4.5 8.500z", look=look)
    words = "withdrawn" if fact.is_withdrawn else "fact"
    runs_over = x + 8 + text_width(fact.words) > window.width
    sheet.text(
        x - 8 if runs_over else x + 8,
        baseline,
        fact.words,
        look=f"{words} end" if runs_over else words,
    )


def _today(sheet: Sheet, *, window: Window, today: date, bottom: float) -> None:
    x = window.x(today)
    sheet.line(x, 12, x, bottom, look="ink w2")
    label = f"today, {MONTHS[today.month - 1]}\N{NO-BREAK SPACE}{today.day}"
    sheet.text(x - 5, 20, label, look="bold end")
