"""A drawing with a dart, made by the command: the pack's own checks hold for closed parts."""

import csv
import json

SVG = """<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">
<g id="piece front"><path d="M0 0H200V200H0Z"/></g>
<g id="dart bust"><path d="M90 200L100 100L110 200"/></g>
<g id="zone band"><path d="M60 140C80 132 120 132 140 140V170C120 164 80 164 60 170Z"/></g>
<g id="zone cap"><path d="M60 140C80 132 120 132 140 140V80H60Z"/></g>
</svg>"""
JOB = """drawing = "dart.svg"
[pieces.front]
make = "pair"
[zones.band]
fabric = "sea-green cotton"
allowance = 5
web = false
[zones.cap]
fabric = "navy cotton"
[stoning.band]
colour = "mint"
[stoning.cap]
colour = "navy"
[templates]
formats = ["svg"]
"""


def test_a_dart_is_closed_from_the_command_to_the_pack(templater, tmp_path):
    (tmp_path / "dart.svg").write_text(SVG, "utf-8")
    (tmp_path / "dart.toml").write_text(JOB, "utf-8")
    told = templater("make", "dart.toml", cwd=tmp_path)
    assert told.returncode == 0, told.stderr
    pack = tmp_path / "dart-pack"
    plan = json.loads((pack / "plan.json").read_text("utf-8"))
    by_id = {part["id"]: part for part in plan["parts"]}
    for side in ("left", "right"):
        assert len(by_id[f"applique-band-{side}"]["halves"]) == 2
        pair = [by_id[f"applique-cap.{n}-{side}"] for n in (1, 2)]
        numbers = [
            {mark["number"] for mark in part["marks"] if mark["dart"] == "bust"} for part in pair
        ]
        assert numbers[0]
        assert numbers[0] == numbers[1]
    with (pack / "stones.csv").open(encoding="utf-8", newline="") as file:
        stones = [row for row in csv.DictReader(file) if row["side"] == "left"]
    # Between the legs, |x − 100| < (100 − y) / 10 with y up, no stone lies.
    assert len(stones) > 200
    assert all(abs(float(s["x_mm"]) - 100) > (100 - float(s["y_mm"])) / 10 for s in stones)
    assert templater("check", "dart-pack", cwd=tmp_path).returncode == 0
