"""What the survey says of colours: only where a layer has several, which may tell things apart."""

import json

from templater.cli.starting import start_and_tell
from templater.cli.surveying import survey_and_tell

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="300mm" viewBox="0 0 200 300">'
PIECE = '<path d="M10 10h100v200h-100z" fill="none" stroke="#000"/>'
TIP = '<path d="M30 120h50v60h-50z" fill="red"/>'


def written(folder, body):
    file = folder / "d.svg"
    file.write_text(f'{HEAD}<g id="a">{body}</g></svg>')
    return file


def test_survey_lists_colours_only_where_there_are_several(tmp_path, capsys):
    def told(body, *, as_json):
        survey_and_tell(written(tmp_path, body), as_json=as_json)
        return capsys.readouterr().out

    assert json.loads(told(PIECE + TIP, as_json=True))["layers"] == [
        {"name": "a", "role": None, "shapes": 2, "colours": ["#000000", "#ff0000"]}
    ]
    assert json.loads(told(TIP, as_json=True))["layers"] == [
        {"name": "a", "role": None, "shapes": 1}
    ]
    assert "#000000, #ff0000" in told(PIECE + TIP, as_json=False)
    assert "colours" not in told(TIP, as_json=False)
    assert '"a #ff0000" = "zone red"' in told(PIECE + TIP, as_json=False)


def test_start_counts_layers_not_colours(tmp_path, capsys):
    start_and_tell(written(tmp_path, PIECE + TIP), tmp_path / "job.toml")
    assert "1 layer has no role" in capsys.readouterr().out
    assert '# "a #ff0000" = "zone red" ' in (tmp_path / "job.toml").read_text()
