"""Names that customers have, and names that somebody types who means no good."""

from __future__ import annotations

from hypothesis import strategies as st

NAMES = (
    "Zoe\u0301 \U0001f3ca\U0001f3fd\u200d\u2640\ufe0f",  # a combining accent, five signs in one
    "\u202e\u05e9\u05dc\u05d5\u05dd\u202c and \u0639\u0631\u0628\u064a",
    'He said "no", didn\'t he; \\North \\n <b>&amp;</b> ]]>',
    "two\r\nlines\rand\na third\x0b\x00\x7f\x85\u2028",
    "=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\n=1",
    "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff201",
    "é" * 500, "\U0001f3ca" * 500, "END:VEVENT\r\nBEGIN:VALARM", "]]><wpt lat='0' lon='0'/>",
    "\ufffe\uffff", "'", "'=1", "''", '"', ",", ";",
)  # fmt: skip
TEXTS = st.one_of(
    st.sampled_from(NAMES),
    st.text(max_size=40),
    st.lists(st.sampled_from(NAMES), min_size=2, max_size=3).map("".join),
)
