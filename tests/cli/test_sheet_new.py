"""``rigging sheet new``: a sheet and a card that pass their own check, and nothing half-written."""


def test_what_it_writes_passes_the_check(rigging, tmp_path):
    ran = rigging("sheet", "new", "mine.yaml", cwd=tmp_path)
    assert (ran.code, ran.out) == (0, "")
    assert "mine.yaml" in ran.err and "card-own.yaml" in ran.err
    assert sorted(p.name for p in tmp_path.iterdir()) == ["card-own.yaml", "mine.yaml"]
    checked = rigging("sheet", "check", "mine.yaml", "--json", cwd=tmp_path)
    assert checked.code == 0
    assert checked.json["problems"] == []
    assert checked.json["tensiometers"] == ["own"]
    assert len(checked.json["runs"]) == 2


def test_no_verdict_rests_on_the_placeholder_card(rigging, tmp_path):
    rigging("sheet", "new", "mine.yaml", cwd=tmp_path)
    # halfway between dial 21, 30 lbf, and 29, 40 lbf
    rows = [f"elevator,{run},mid,1,25,70F" for run in ("up", "down") for _ in range(3)]
    (tmp_path / "r.csv").write_text("\n".join(["circuit,run,station,riser,dial,structure", *rows]))
    ran = rigging("check", "mine.yaml", "r.csv", "--on", "2026-11-25", "--json", cwd=tmp_path)
    assert ran.code == 1
    for run in ran.json["runs"]:
        assert run["tension_lbf"] == 35
        assert run["plain"] == "in"
        assert run["verdict"] == "re-measure"
        assert run["usable_for_sign_off"] is False


def test_without_a_name_it_is_printed(shared):
    ran = shared("sheet", "new")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("# A rig sheet")
    assert "rig_sheet: 1" in ran.out


def test_nothing_is_overwritten(rigging, tmp_path):
    mine = tmp_path / "mine.yaml"
    mine.write_text("my own work\n")
    ran = rigging("sheet", "new", "mine.yaml", cwd=tmp_path)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err == "mine.yaml exists: choose another name, nothing was written\n"
    assert mine.read_text() == "my own work\n"
    assert list(tmp_path.iterdir()) == [mine]


def test_a_card_in_the_way_keeps_the_sheet_from_being_written(rigging, tmp_path):
    (tmp_path / "card-own.yaml").write_text("my own card\n")
    ran = rigging("sheet", "new", "mine.yaml", cwd=tmp_path)
    assert ran.code == 2
    assert "card-own.yaml exists" in ran.err
    assert [p.name for p in tmp_path.iterdir()] == ["card-own.yaml"]
    assert (tmp_path / "card-own.yaml").read_text() == "my own card\n"


def test_a_second_sheet_in_a_folder_shares_the_card(rigging, tmp_path):
    assert rigging("sheet", "new", "mine.yaml", cwd=tmp_path).code == 0
    card = (tmp_path / "card-own.yaml").read_text()
    ran = rigging("sheet", "new", "other.yaml", cwd=tmp_path)
    assert ran.code == 0
    assert "card-own.yaml was there already and is kept" in ran.err
    assert (tmp_path / "card-own.yaml").read_text() == card
    assert rigging("sheet", "check", "other.yaml", cwd=tmp_path).code == 0


def test_a_sheet_cannot_have_the_name_of_its_card(rigging, tmp_path):
    ran = rigging("sheet", "new", "card-own.yaml", cwd=tmp_path)
    assert ran.code == 2
    assert "choose another" in ran.err
    assert list(tmp_path.iterdir()) == []


def test_where_one_cannot_be_written_none_is(rigging, tmp_path):
    # a dangling link is not there, and cannot be made either
    (tmp_path / "card-own.yaml").symlink_to(tmp_path / "nowhere" / "card.yaml")
    ran = rigging("sheet", "new", "mine.yaml", cwd=tmp_path)
    assert ran.code == 3
    assert "card-own.yaml: cannot be written" in ran.err
    assert [p.name for p in tmp_path.iterdir()] == ["card-own.yaml"]


def test_a_folder_that_is_not_there(rigging, tmp_path):
    ran = rigging("sheet", "new", "nowhere/mine.yaml", cwd=tmp_path)
    assert (ran.code, ran.out) == (3, "")
    assert "nowhere/mine.yaml: cannot be written" in ran.err
    assert len(ran.err.splitlines()) == 1


def test_json_names_what_was_written(rigging, tmp_path):
    ran = rigging("sheet", "new", tmp_path / "mine.yaml", "--json")
    assert (ran.code, ran.err) == (0, "")
    assert [name.rpartition("/")[2] for name in ran.json["written"]] == ["mine.yaml", "card-own.yaml"]
    assert rigging("sheet", "new", "--json").code == 2
