"""`check`, `due` and `rules` as a grower meets them."""


def test_findings_are_bad_news_and_every_one_has_all_that_is_promised(lotwalk, ledger):
    ran = lotwalk("check", "--format", "json")
    assert ran.status == 1
    for finding in ran.json["findings"]:
        assert {"id", "severity", "about", "text", "do", "basis"} <= set(finding)
        assert finding["severity"] in ("critical", "major", "minor")
        assert finding["text"].endswith(".") and finding["do"].endswith(".")
        assert not set(finding["id"]) & set(" ,;='\"")
    assert len({finding["id"] for finding in ran.json["findings"]}) == len(ran.json["findings"])


def test_the_screen_says_what_it_does_not_show(lotwalk, ledger):
    ran = lotwalk("check")
    assert "does not show that food is safe" in " ".join(ran.out.split())
    assert "open finding" in ran.lines[0]


def test_a_period_without_findings_is_good_news(lotwalk, ledger):
    ran = lotwalk("check", "--from", "2020-01-01", "--until", "2020-01-31")
    assert (ran.status, ran.lines[0]) == (0, "No open finding.")


def test_only_what_is_asked_for(lotwalk, ledger):
    everything = lotwalk("check", "--format", "json").json["findings"]
    severities = {finding["severity"] for finding in everything}
    for severity in severities:
        some = lotwalk("check", "--only", severity, "--format", "json").json["findings"]
        assert some == [finding for finding in everything if finding["severity"] == severity]
    ran = lotwalk("check", "--only", "grave")
    assert ran.status == 2 and "critical, major, minor" in ran.err


def test_csv_has_a_row_for_each_finding(lotwalk, ledger):
    everything = lotwalk("check", "--format", "json").json
    ran = lotwalk("check", "--format", "csv")
    assert ran.lines[0].startswith("id,severity,about,text,do,basis")
    assert len(ran.lines) - 1 >= len(everything["findings"])


def test_json_and_csv_name_the_cause_of_each_finding(lotwalk, ledger):
    told = lotwalk("check", "--format", "json").json
    causes = {name: one["id"] for one in told["causes"] for name in (*one["findings"], *one["closed"])}
    assert {one["id"]: one["cause"] for one in (*told["findings"], *told["closed"])} == causes
    assert len(causes) == sum(len(one["findings"]) + len(one["closed"]) for one in told["causes"])
    head, *rows = lotwalk("check", "--format", "csv").lines
    assert head.endswith(",cause")
    assert {row.rpartition(",")[2] for row in rows} == set(causes.values())


def test_the_screen_tells_causes_and_all_tells_findings(lotwalk, ledger):
    told = lotwalk("check", "--format", "json").json
    brief, whole = lotwalk("check").out, lotwalk("check", "--all").out
    assert all(one["id"] in brief for one in told["causes"] if one["findings"] and one["severity"] != "minor")
    assert all(f"\n{one['id']}" in whole for one in told["findings"])
    assert "Rule: " in whole


def test_what_is_due_stands_by_day(lotwalk, ledger):
    ran = lotwalk("due", "--days", "400", "--on", "2026-03-15", "--format", "json")
    days = [one["by"] for one in ran.json["due"]]
    assert days and days == sorted(days)
    assert ran.status == (1 if any(one["overdue"] for one in ran.json["due"]) else 0)


def test_every_rule_is_shown_with_its_source(lotwalk, ledger):
    limits = lotwalk("rules", "show", "--format", "json").json["limits"]
    by_key = {limit["key"]: limit for limit in limits}
    # 21 CFR 112.44(a), 40 CFR 180.940(a): the values stand in the rule set with their paragraphs.
    assert by_key["water.volume"]["value"] == "100 mL" and "112.44(a)" in by_key["water.volume"]["source"]
    assert by_key["chlorine.max"]["value"] == "200 ppm" and "180.940(a)" in by_key["chlorine.max"]["source"]
    assert all(limit["source"] and limit["confidence"] for limit in limits)
    assert "water.volume" in lotwalk("rules", "show", "us").out


def test_a_rule_set_of_ones_own_is_checked_and_its_changes_told(lotwalk, tmp_path):
    own = tmp_path / "own.yaml"
    own.write_text(
        "title: Ours\nbased_on: general\nrecords:\n  written_within: {value: 3 days, confidence: practice}\n"
    )
    ran = lotwalk("rules", "check", own)
    assert ran.status == 0 and "It changes 1 of general." in ran.out and "3 days" in ran.out
    own.write_text("title: Ours\nbased_on: general\nrecords:\n  writen_within: {value: 3 days}\n")
    ran = lotwalk("rules", "check", own)
    assert ran.status == 2 and "own.yaml:4" in ran.err and "written_within" in ran.err


def test_recording_a_corrective_action_says_what_it_closes(lotwalk, ledger):
    finding = lotwalk("check", "--format", "json").json["findings"][0]["id"]
    action = ("record", "corrective-action", "--by", "TO", "--cause", "c", "--action", "a", "--about")
    told = lotwalk(*action, finding).out
    assert "In hand" in told and finding in told
    told = lotwalk(*action, finding, "--closed", "2026-03-16", "--at", "2026-03-16 09:00").out
    assert f"This closes {finding}." in told
    assert (
        lotwalk("check", "--only", finding).status == 2 or "No open finding" in lotwalk("check", "--only", finding).out
    )
    told = lotwalk(*action, finding[:-1] + "x9", "--closed", "2026-03-16").out
    assert "There is no finding" in told
