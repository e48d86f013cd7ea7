"""A zone that is a true circle goes all the way: readers and writers keep it as one."""


def test_a_round_applique_is_made_and_checked(tmp_path, templater):
    (tmp_path / "moon.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
        '<g data-name="zone moon"><circle cx="30" cy="30" r="21.5"/></g></svg>',
        "utf-8",
    )
    (tmp_path / "moon.toml").write_text(
        'drawing = "moon.svg"\n[stoning.moon]\nfill = { style = "none" }\n', "utf-8"
    )
    told = templater("make", tmp_path / "moon.toml")
    assert told.returncode == 0, told.stderr
    pack = tmp_path / "moon-pack"
    assert templater("check", pack).returncode == 0
    # With flatter arcs in one file it is no circle any more, and found.
    sheet = next((pack / "appliques").glob("1-*.svg"))
    text = sheet.read_text("utf-8")
    assert "A 21.5 21.5" in text
    sheet.write_text(text.replace("A 21.5 21.5", "A 22.5 22.5"), "utf-8")
    told = templater("check", pack)
    assert told.returncode == 1
    assert "the cut line of" in told.stderr
