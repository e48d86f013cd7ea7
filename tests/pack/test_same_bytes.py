"""The same job twice, in two processes with different hash seeds: the same bytes."""


def test_two_runs_give_the_same_pack(demo, tmp_path, templater):
    folder, _, pack = demo
    again = tmp_path / "again"
    told = templater("make", folder / "kelp-leotard.toml", "-o", again, hash_seed="12345")
    assert told.returncode == 0, told.stderr
    files = sorted(path.relative_to(pack) for path in pack.rglob("*") if path.is_file())
    assert files == sorted(path.relative_to(again) for path in again.rglob("*") if path.is_file())
    assert {path.suffix for path in files} >= {".svg", ".dxf", ".pdf", ".csv", ".json", ".png"}
    different = [
        str(path) for path in files if (pack / path).read_bytes() != (again / path).read_bytes()
    ]
    assert different == []
