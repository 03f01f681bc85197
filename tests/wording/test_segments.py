"""Parts counted as phones and networks count them."""

import json
from pathlib import Path
from typing import Any

import pytest
import smsutil
from hypothesis import given
from hypothesis import strategies as st

from service.segments import GSM, segments

# sms_segments.json: 116 texts with the parts that four counters and a gateway gave; its own fields tell the sources.
CASES = json.loads((Path(__file__).parent / "sms_segments.json").read_text(encoding="utf-8"))["cases"]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case["id"])
def test_published_case(case: dict[str, Any]) -> None:
    counted = segments(case["text"])

    assert (counted.encoding, counted.units, counted.segments) == (case["encoding"], case["units"], case["segments"])


def test_all_cases_are_there() -> None:
    """116 cases, 55 of them in the GSM alphabet (the file's own count)."""
    assert (len(CASES), sum(case["encoding"] == "gsm7" for case in CASES)) == (116, 55)


@given(
    st.text(st.one_of(st.sampled_from(sorted(GSM)), st.sampled_from("’–…₹\tá\u200bनमस्ते😀")), min_size=1, max_size=400)
)
def test_agrees_with_another_counter(text: str) -> None:
    """smsutil counts by the same two specifications; it was written by others."""
    ours, theirs = segments(text), smsutil.split(text)

    assert ours.encoding == ("gsm7" if smsutil.is_valid_gsm(text) else "ucs2")
    assert ours.segments == len(theirs.parts)
    bytes_a_unit = 1 if ours.encoding == "gsm7" else 2  # its "bytes" of a 7-bit text are septets
    assert ours.units == sum(part.bytes for part in theirs.parts) / bytes_a_unit


def test_what_doubles_the_price_is_named() -> None:
    """Each character outside the GSM alphabet is named once, in order: it is what a writer has to change."""
    counted = segments("Don’t spray – wait … don’t")

    assert counted.culprits == "’–…"
    assert segments("Don't spray - wait ... don't").culprits == ""


def test_the_escape_is_no_character() -> None:
    """0x1B opens the extension table and stands for nothing itself (TS 23.038 cl. 6.2.1)."""
    assert segments("\x1b").encoding == "ucs2"
