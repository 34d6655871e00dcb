"""The sample farm's papers, read against what samples/README.md says was planted: found, and nothing else."""

from tests.checks import sample

from lotwalk.checks.subjects import assurance, expiry, seed


def test_the_planted_gaps_and_no_others():
    found = sample.standing(seed, assurance)
    (pink,) = sample.named([("sowing", "2026-02-06 16:20")])
    (binned,) = sample.named([("corrective-action", "2026-02-11 09:40")])
    assert {name: one.closed_by for name, one in found.items()} == {
        # no-seed-paper
        "seed-paper:S-FEN-1": "",
        "seed-paper:S-ARU-1": "",
        "seed-paper:S-KAL-2": "",
        "seed-paper:S-CAB-2": binned,
        # treated-seed
        f"treated-seed:S-CAB-2:{pink}": binned,
        # no-assurance
        "no-assurance:UMBERLOW:D-1080": "",
        # Live trays were sold: the question for the regulator, once a year.
        "rooted:2026": "",
    }
    severities = {name: one.finding.severity for name, one in found.items()}
    assert severities[f"treated-seed:S-CAB-2:{pink}"] == "critical"
    # S-KAL-1 and S-KAL-2 are one lot of the supplier, SH-K-118, received twice, and the paper names the first.
    assert severities["seed-paper:S-KAL-2"] == "minor"
    assert "SH-PATH-25 names S-KAL-1" in found["seed-paper:S-KAL-2"].finding.text
    assert "PT-PATH-2210 is of S-CAB-1" in found["seed-paper:S-CAB-2"].finding.text


def test_what_runs_out_next():
    by = {one.about[0]: one.by for one in sample.due(expiry, assurance)}
    # The strips of old-strips, and the papers of stores and week 7.
    assert by["STR-1"] == "2026-01-31"
    assert by["TC-VILLAGE-2026"] == "2027-02-12"
    assert by["BRAMHOLT"] == "2027-01-05"
    assert by["UMBERLOW"] == "2026-03-02"
    assert "TC-VILLAGE-2025" not in by
