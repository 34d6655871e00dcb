"""A laboratory's words for germs that must not be there. The forms are those of reports: common practice, no source."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lotwalk.science.results import names_a_germ, outcome


@pytest.mark.parametrize(
    "words",
    [
        "not detected in 25 g", "Not Detected", "NOT DETECTED / 25g", "none detected", "ND", "n.d.", "N.D. in 25 g",
        "absent", "absent in 25 g", "Absence in 25 g", "negative", "neg.", "Negative (25 g)", "no Salmonella detected",
        "Salmonella spp. not detected in 375 g", "no growth", "No E. coli O157:H7 found", "non-detect", "non detected",
        "undetected", "was not found", "below detection limit", "below the limit of detection", "< LOD", "nil",
        "Salmonella: not detected; STEC: not detected", "Salmonella neg, Listeria neg", "0/5", "0 of 5 positive",
        "did not detect Salmonella", "Salmonella not isolated from 25 g", "none of the samples: not detected",
        "E. coli O157:H7 absent in 25 g, Salmonella absent in 25 g", "pass", "complies",
        "not detected in 25 g; confirmed by the laboratory", "not detected (detection limit 1 CFU/25g)",
        "Salmonella absent, total coliforms 200 CFU/g", "E. coli <1 MPN/100mL, coliforms 12 MPN/100mL",
        "positive control in order, not detected",
    ],
)  # fmt: skip
def test_words_that_deny(words):
    assert outcome(words, "Salmonella") == "not found"


@pytest.mark.parametrize(
    "words",
    [
        "detected in 25 g", "Detected", "positive", "POSITIVE in 25 g", "presumptive positive", "present", "presence",
        "Salmonella found", "Salmonella: not detected; STEC: detected", "Salmonella negative, Listeria positive",
        "Listeria monocytogenes isolated", "1/5 positive", "2 of 5", "fail", "failed", "does not comply", "TNTC",
        "too numerous to count", "not compliant", "exceeds limit", "not detected in 4 samples, detected in 1",
        "suspect", "Salmonella ND, E. coli 120 CFU/g",
    ],
)  # fmt: skip
def test_words_that_affirm(words):
    assert outcome(words, "Salmonella") == "found"


@pytest.mark.parametrize(
    "words",
    [
        "", " ", "pending", "inconclusive", "not tested", "result awaited", "see report", "invalid, sample leaked",
        "94 %", "good", "ok?", "not negative", "unknown", "no result", "negativ", "not yet reported",
    ],
)  # fmt: skip
def test_words_that_leave_it_open(words):
    assert outcome(words) == "unclear"


@pytest.mark.parametrize(
    ("words", "test", "told"),
    [
        ("<10 CFU/g", "E. coli", "not found"),
        ("< 1 MPN/100 mL", "E. coli", "not found"),
        ("10 CFU/g", "Listeria monocytogenes", "found"),
        (">100 CFU/g", "E. coli", "found"),
        ("1,200 CFU/g", "E. coli", "found"),
        ("E. coli 4 MPN/100 mL", "", "found"),
        # A count of what may be there says nothing of what may not.
        ("1,200 CFU/g", "aerobic plate count", "unclear"),
        ("12 RLU", "ATP swab", "unclear"),
        ("clean", "ATP and coliform swab", "not found"),
        ("E. coli O157 not detected in 25 g", "", "not found"),
    ],
)
def test_counts(words, test, told):
    assert outcome(words, test) == told


@pytest.mark.parametrize(
    ("words", "test", "told"),
    [
        # A plate that counts from 10 CFU/g on says nothing of the one germ in 25 g that a test for presence finds.
        ("<10 cfu/g", "Listeria monocytogenes", "not shown"),
        ("< 100 CFU/g", "Salmonella", "not shown"),
        ("0 CFU/g", "Listeria", "not shown"),
        ("<1 cfu", "STEC", "not shown"),
        ("≤10 CFU/g", "E. coli O157:H7", "not shown"),
        ("<1 x 10^1 CFU/g", "Listeria", "not shown"),
        ("below the limit of quantification", "Listeria", "not shown"),
        ("<LOQ", "Listeria", "not shown"),
        ("Listeria spp. <10 cfu/g", "", "not shown"),
        ("pass: <10 cfu/g", "Listeria", "not shown"),
        ("complies; Listeria <10 cfu/g", "", "not shown"),
        ("Salmonella not detected in 25 g; Listeria <10 cfu/g", "", "not shown"),
        ("Listeria <10 cfu/g, STEC detected", "", "found"),
        ("Listeria <10 cfu/g; Salmonella 20 cfu/g", "", "found"),
        (">0 CFU/g", "Listeria", "found"),
        # Worked out: less than 1 in 25 g, and less than 0.04 in 1 g, both say that 25 g held none; 10 / 0.5 is 20 g.
        ("<1 CFU/25 g", "Listeria", "not found"),
        ("0 CFU/25 g", "Listeria", "not found"),
        ("<0.04 MPN/g", "Salmonella", "not found"),
        ("<0.05 MPN/g", "Salmonella", "not shown"),
        ("<1 MPN/100 mL", "Salmonella", "not found"),
        ("<0.5 MPN per 10 g", "Salmonella", "not shown"),
        ("not detected in 25 g", "Listeria", "not found"),
        # What is counted to tell of dirt, and the germs that have a limit of their own.
        ("<10 CFU/g", "generic E. coli", "not found"),
        ("<10 CFU/g", "Staphylococcus aureus", "not found"),
        ("below the limit of quantification", "coliforms", "not found"),
        ("E. coli <1 MPN/100 mL; Salmonella not detected in 25 g", "", "not found"),
    ],
)
def test_a_count_below_its_limit_is_no_negative_for_what_must_not_be_there(words, test, told):
    assert outcome(words, test) == told


def test_what_a_test_is_for():
    assert names_a_germ("Salmonella in 25 g")
    assert names_a_germ("STEC, Listeria")
    assert names_a_germ("E. coli, tap at the wash-up")
    assert not names_a_germ("aerobic plate count")
    assert not names_a_germ("ATP swab")


DENIED = st.sampled_from(["not detected in 25 g", "ND", "absent", "negative", "<10 CFU/g", "none found", "pass"])
AFFIRMED = st.sampled_from(["detected", "positive", "presumptive positive", "present in 25 g", "TNTC", "fail"])


@given(st.lists(DENIED), AFFIRMED, st.lists(DENIED))
def test_one_word_that_affirms_outweighs_any_that_deny(before, word, after):
    assert outcome("; ".join([*before, word, *after]), "Salmonella") == "found"


@given(st.text())
def test_any_text_is_read_without_a_crash_and_white_space_changes_nothing(words):
    assert outcome(f"  {words}\n") == outcome(words)
