"""Windows of the day as people write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatodds.catalog.windows import overlapping, parse_window, window_text


@pytest.mark.parametrize(
    ("text", "window"),
    [
        ("7-9", (7.0, 9.0)),
        ("17-19:30", (17.0, 19.5)),
        (" 06:15 - 7 ", (6.25, 7.0)),
        ("22-6", (22.0, 30.0)),
        ("0-24", (0.0, 24.0)),
        ("22-24", (22.0, 24.0)),
        ("23:30-0", (23.5, 24.0)),
    ],
)
def test_reads_common_forms(text: str, window: tuple[float, float]) -> None:
    assert parse_window(text) == window


@pytest.mark.parametrize("text", ["", "7", "7-", "7-9-11", "7.30-9", "25-3", "24-6", "7-7", "٧-٩"])
def test_refuses_what_is_no_window(text: str) -> None:
    with pytest.raises(ValueError, match=r"clock times|ends at 24|empty"):
        parse_window(text)


def test_refuses_a_minute_past_the_end_of_the_day() -> None:
    with pytest.raises(ValueError, match="ends at 24"):
        parse_window("7-24:30")


@pytest.mark.law
@given(st.integers(0, 1439), st.integers(1, 1439))
def test_writing_and_reading_agree(start: int, length: int) -> None:
    window = (start / 60.0, (start + length) / 60.0)
    assert parse_window(window_text(window)) == pytest.approx(window)


def test_overlap_sees_across_midnight() -> None:
    assert overlapping(((22.0, 30.0), (5.0, 7.0)))
    assert not overlapping(((22.0, 30.0), (6.0, 7.0)))
    assert overlapping(((7.0, 9.0), (8.0, 10.0)))
    assert not overlapping(((7.0, 9.0), (9.0, 10.0)))
