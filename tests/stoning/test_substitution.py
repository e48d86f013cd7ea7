from templater.model.stones import Figures, Setting, Stone, StoneKind
from templater.stoning.substitution import substitute


def stone(size, colour, finish, x=0.0):
    return Stone(x, 0.0, 0.0, size, 3.9, 3.9, colour, finish, StoneKind.FILL, 0.3)


def setting(*stones):
    return Setting("frond", "front", stones, Figures(1.0, 0.5, (), None, None))


def test_it_recolours_without_moving_a_stone():
    before = setting(stone("ss16", "mint", "plain", 1.0), stone("ss16", "sea green", "ab", 9.0))
    (after,), problems = substitute([before], {"SS16  mint plain": "ss16 sea green ab"})
    assert problems == ()
    assert after.stones[0] == before.stones[0]._replace(colour="sea green", finish="ab")
    assert after.stones[1] == before.stones[1]


def test_two_stones_may_change_places():
    before = setting(stone("ss16", "mint", "plain"), stone("ss16", "navy", "plain"))
    swap = {"ss16 mint plain": "ss16 navy plain", "ss16 navy plain": "ss16 mint plain"}
    (after,), _ = substitute([before], swap)
    assert [s.colour for s in after.stones] == ["navy", "mint"]


def test_shaped_sizes_are_of_two_words():
    before = setting(stone("navette 10x5", "navy", "plain"))
    (after,), problems = substitute(
        [before], {"navette 10x5 navy plain": "navette 10x5 deep green foiled"}
    )
    assert problems == ()
    assert after.stones[0][6:9] == ("deep green", "foiled", StoneKind.FILL)


def test_another_size_is_refused_with_the_mend():
    before = setting(stone("ss16", "mint", "plain"))
    for new in ("ss20 mint plain", "ss16", "ss16 plain", "ss161 mint plain"):
        same, (problem,) = substitute([before], {"ss16 mint plain": new})
        assert problem.code == "substitute-size"
        assert "ss16 COLOUR FINISH" in problem.mend
        assert same == (before,)


def test_one_that_nobody_sets_is_a_note():
    _, (problem,) = substitute([setting()], {"ss16 mint plain": "ss16 navy plain"})
    assert problem.severity == "note"
