import pytest

from templater.catalogue.sizes import all_sizes, find_size, nearest_names


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("SS 16", "ss16"),
        ("pp 8", "pp8"),
        ("marquise 10x5", "navette 10x5"),
        ("Pear 10 x 6", "teardrop 10x6"),
    ],
)
def test_names_are_read_as_makers_write_them(written, name):
    assert find_size(written).name == name


@pytest.mark.parametrize(
    "written", ["ss99", "ss", "hexagon 5x5", "navette 5x10", "navette 0x0", ""]
)
def test_unknown_sizes_are_none(written):
    assert find_size(written) is None


def test_every_size_is_found_by_its_own_name():
    for size in all_sizes():
        assert find_size(size.name) == size


def test_the_nearest_names_help():
    assert "ss16" in nearest_names("s16")
