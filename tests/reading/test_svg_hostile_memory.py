"""Hostile drawings stay within bounded memory: each is read in a process of its own, and its peak
compared with that of an honest drawing.
"""

import json
import subprocess
import sys

import pytest

MEASURE = """
import json, resource, sys, time
from templater.reading import read_drawing
from test_svg_hostile import HEAD, bomb

good = HEAD + b'<g id="zone a"><path d="M1 1H9V9z"/></g></svg>'
copies = b"".join(
    b'<g id="a%d">%s</g>' % (n, b'<use href="#a%d"/>' % (n - 1) * 10) for n in range(1, 12)
)
cases = {
    "entity bomb": bomb(),
    "long entity": b'<!DOCTYPE svg [<!ENTITY a "' + b"a" * 100_000 + b'">]>' + HEAD
    + b"&a;" * 3000 + b"</svg>",
    "external entity": b'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///dev/zero">]>' + HEAD
    + b"<text>&a;</text></svg>",
    "10,000 nested groups": HEAD + b"<g>" * 10_000 + b"</g>" * 10_000 + b"</svg>",
    "a copy of itself": HEAD + b'<g id="a"><use href="#a"/></g></svg>',
    "copies of copies of copies": HEAD + b'<path id="a0" d="M1 1H9V9z"/>' + copies + b"</svg>",
}
read_drawing(good, "warm.svg")
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
start = time.process_time()
drawing = read_drawing(cases[sys.argv[1]], "hostile.svg")
taken = time.process_time() - start
after = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
shapes = sum(len(layer.shapes) for layer in drawing.layers)
print(json.dumps([(after - before) / 1024, taken, shapes, len(drawing.problems)]))
"""
MOST_MB = 150.0
MOST_S = 20.0  # of the processor; copies are given up after 100,000


@pytest.mark.parametrize(
    "case",
    [
        "entity bomb",
        "long entity",
        "external entity",
        "10,000 nested groups",
        "a copy of itself",
        "copies of copies of copies",
    ],
)
def test_memory_and_time_are_bounded(case, request):
    told = subprocess.run(
        [sys.executable, "-c", MEASURE, case],
        capture_output=True,
        text=True,
        check=True,
        cwd=request.path.parent,
    )
    more_mb, taken_s, shapes, problems = json.loads(told.stdout)
    print(f"{case}: {more_mb:.0f} MB more, {taken_s:.2f} s")
    assert more_mb < MOST_MB
    assert taken_s < MOST_S
    assert shapes == 0
    assert problems > 0
