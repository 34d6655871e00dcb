"""What an entry brings about, as the command line tells it: one by one, and of a sheet by what they are alike in."""


def test_record_tells_it_at_once_and_ends_well(ledger, lotwalk):
    # Of H-2 there is some left, so it is told however long ago it was.
    lotwalk("record", "hold", "--lots", "H-2", "--reason", "a guest is ill", "--by", "TO", "--at", "2026-03-12 08:00")
    pack = ("--lot", "P-9", "--from", "H-2 100 g", "--packs", "1", "--pack-size", "100 g", "--product", "RAD", "--by",
            "TO", "--at", "2026-03-12 09:00")  # fmt: skip
    packed = lotwalk("record", "packing", *pack)
    assert (packed.status, packed.err) == (0, "")
    told = next(line for line in packed.lines if line.startswith("Critical: H-2 was used in P-9"))
    assert "Put P-9 on hold" in told
    assert told.endswith("(held-moved:H-2:P-9)")


def test_a_sheet_ends_with_one_line_for_many_of_one_sort(ledger, lotwalk):
    # Five sowings on nothing: the first three are named and the others counted.
    sheet = ledger.parent / "five.yaml"
    rows = [
        f"- {{kind: sowing, at: 2026-03-12 0{hour}:00, batch: T-{hour}9, seed: S-1 1 g, trays: 1, water: none}}"
        for hour in range(1, 6)
    ]
    sheet.write_text("common: {by: TO}\nentries:\n" + "\n".join(rows) + "\n")
    done = lotwalk("load", sheet)
    assert (done.status, done.err) == (0, "")
    first = int(done.lines[0].rpartition(", E")[2].split("..")[0])
    told = [line for line in done.lines if "nothing-named" in line]
    assert len(told) == 1
    assert told[0].startswith(
        f"  Major: 5 times an entry that names nothing: E{first}, E{first + 1}, E{first + 2} and 2 more. Such as: "
    )
