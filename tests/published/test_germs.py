"""Which germ a laboratory's words say was found, and whether it makes people ill or only indicates."""

import pytest

from lotwalk.science.germs import germs_found, germs_in, only_indicate

STEC = "E. coli that makes people ill (STEC and its like)"


def names(germs):
    return [germ.name for germ in germs]


@pytest.mark.parametrize(
    ("words", "germs"),
    [
        ("Salmonella in 25 g", ["Salmonella"]),
        ("Salmonella spp.", ["Salmonella"]),
        ("L. monocytogenes", ["Listeria monocytogenes"]),
        ("L.monocytogenes in 25g", ["Listeria monocytogenes"]),
        ("Listeria species, swab", ["Listeria"]),
        ("E. coli", ["generic E. coli"]),
        ("Generic E.coli", ["generic E. coli"]),
        ("Escherichia coli, 100 mL", ["generic E. coli"]),
        ("non-pathogenic E. coli", ["generic E. coli"]),
        ("E. coli O157:H7", [STEC]),
        ("E. coli O104", [STEC]),
        ("O157", [STEC]),
        ("STEC", [STEC]),
        ("Shiga toxin-producing E. coli", [STEC]),
        ("pathogenic E. coli", [STEC]),
        ("E. coli (STEC)", [STEC]),
        ("total coliforms", ["coliforms"]),
        ("faecal coliforms and E. coli", ["generic E. coli", "coliforms"]),
        ("Enterobacteriaceae", ["Enterobacteriaceae"]),
        ("aerobic plate count", ["a count"]),
        ("total viable count", ["a count"]),
        ("APC", ["a count"]),
        ("yeasts and moulds", ["a count"]),
        ("ATP swab", ["a count"]),
        ("Norovirus GII", ["norovirus"]),
        ("S. aureus", ["Staphylococcus aureus"]),
        ("swab", []),
        ("pathogen test", []),
        ("tested at the shed", []),
    ],
)
def test_what_a_test_is_for(words, germs):
    assert names(germs_in(words)) == germs


@pytest.mark.parametrize(
    ("words", "indicate"),
    [
        ("E. coli", True),
        ("coliforms and a plate count", True),
        ("E. coli O157:H7", False),
        ("Salmonella and E. coli", False),
        ("Listeria spp.", False),
        ("swab", False),
    ],
)
def test_what_only_indicates(words, indicate):
    assert only_indicate(germs_in(words)) is indicate


@pytest.mark.parametrize(
    ("test", "result", "germs"),
    [
        ("Salmonella", "detected in 25 g", ["Salmonella"]),
        ("", "Salmonella detected in 25 g", ["Salmonella"]),
        ("Salmonella and Listeria", "Salmonella: not detected; Listeria: detected", ["Listeria"]),
        ("pathogens", "Salmonella, STEC: not detected; L. monocytogenes: detected", ["Listeria monocytogenes"]),
        ("pathogens", "Salmonella and STEC: detected", ["Salmonella", STEC]),
        ("pathogens", "detected: Salmonella, STEC", ["Salmonella", STEC]),
        ("pathogens", "positive (Salmonella)", ["Salmonella"]),
        ("Salmonella, Listeria", "Salmonella not detected; positive", ["Listeria"]),
        ("Salmonella and E. coli", "E. coli 20 cfu/g; Salmonella not detected", ["generic E. coli"]),
        ("pathogen test", "positive", []),
        ("E. coli", "present", ["generic E. coli"]),
    ],
)
def test_what_was_found(test, result, germs):
    assert names(germs_found(result, test)) == germs
