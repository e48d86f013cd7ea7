"""Finishes and sizes that a job spells amiss."""

import pytest

from templater.job import load_job


def said(text, code):
    _, problems = load_job(f'drawing = "front.svg"\n{text}', "front.toml")
    return [problem for problem in problems if problem.code == code]


@pytest.mark.parametrize(
    ("text", "meant", "line"),
    [
        ("[stoning.a]\nfinish = { plian = 60, ab = 40 }", "plain", 3),
        (
            '[stoning.a]\nfinish = "frosted"\n[stoning.b]\nfinish = "forsted"',
            "frosted",
            5,
        ),
        ('[stoning.a]\nfinish = "foiled"\n[rows.b]\nfinish = "fioled"', "foiled", 5),
    ],
)
def test_a_finish_that_nearly_is_another_is_told(text, meant, line):
    (problem,) = said(text, "finish-nearly-another")
    assert problem.severity == "note"
    assert f'Did you mean "{meant}"?' in problem.mend
    assert (problem.source.file, problem.source.line) == ("front.toml", line)


def test_the_rarer_of_two_finishes_is_the_one_that_is_asked_about():
    text = "".join(
        f'[stoning.{name}]\nfinish = "{finish}"\n'
        for name, finish in (("a", "forsted"), ("b", "frosted"), ("c", "frosted"))
    )
    (problem,) = said(text, "finish-nearly-another")
    assert problem.message.startswith('the finish "forsted"')


def test_finishes_of_their_own_are_left_alone():
    finish = "{ plain = 4, ab = 3, shiny = 2, foiled = 1, unfoiled = 1, matt = 1, aurum = 1 }"
    assert said(f"[stoning.a]\nfinish = {finish}", "finish-nearly-another") == []


def test_every_size_a_job_names_is_looked_up():
    text = (
        '[stoning.a]\noutline = { size = "s16" }\nfill = { sizes = { ss20 = 1, ss98 = 1 } }\n'
        '[rows.b]\nstone = ["navette 10x5", "navet 8x4"]'
    )
    places = [(p.source.element, p.source.line) for p in said(text, "unknown-size")]
    assert places == [
        ("stoning.a.outline.size", 3),
        ("stoning.a.fill.sizes", 4),
        ("rows.b.stone", 6),
    ]
