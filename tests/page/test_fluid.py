"""Twenty thousand stones: how the picture moves, beside an empty canvas in the same run."""

from __future__ import annotations

import json
from pathlib import Path

from pages import many_stones, read_cautions

from templater.model.plan_file import load_plan
from templater.writing.book_page import book_html

PAN = """(frames) => new Promise((done) => {
  const canvas = document.getElementById("canvas");
  const box = canvas.getBoundingClientRect();
  const at = (type, x, y) => canvas.dispatchEvent(new PointerEvent(type, {
    pointerId: 1, clientX: x, clientY: y, bubbles: true, isPrimary: true }));
  let n = 0, begin = 0;
  const x = () => box.left + box.width / 2 + 400 * Math.sin(n / 25), y = () => box.top + box.height / 2 + 3 * (n % 40);
  at("pointerdown", x(), y());
  const turn = (now) => {
    if (!begin) begin = now;
    if (n === frames) { at("pointerup", x(), y()); done(1000 * frames / (now - begin)); return; }
    n += 1; at("pointermove", x(), y()); requestAnimationFrame(turn);
  };
  requestAnimationFrame(turn);
})"""
EMPTY = """<!DOCTYPE html><title>empty</title><canvas id="canvas" data-ready="1" width="900" height="700"></canvas>
<script>const pen = document.getElementById("canvas").getContext("2d"); let waiting = 0;
document.getElementById("canvas").addEventListener("pointermove", () => {
  if (!waiting) waiting = requestAnimationFrame(() => { waiting = 0; pen.fillRect(0, 0, 900, 700); }); });</script>"""


def test_twenty_thousand_stones_move_as_an_empty_canvas_does(
    opened, demo_pack, tmp_path, record_property
):
    plan = many_stones(load_plan((demo_pack / "plan.json").read_bytes()), 20_000)
    book, empty = tmp_path / "book.html", tmp_path / "empty.html"
    book.write_bytes(book_html(plan))
    empty.write_text(EMPTY)
    page = opened(book)
    read_cautions(page)
    assert len(json.loads(page.locator("#data").text_content())["ids"]) == 20_000
    bare = opened(empty)
    rates = {}
    for name, where in (("empty", bare), ("stones", page)):
        where.bring_to_front()
        rates[name] = max(where.evaluate(PAN, 90) for _ in range(2))
        record_property(f"frames a second, {name}", round(rates[name], 1))
    print(
        f"frames a second: {rates['stones']:.0f} with 20,000 stones, {rates['empty']:.0f} with none"
    )
    assert rates["stones"] >= 20.0 or rates["stones"] >= 0.4 * rates["empty"]
    assert Path(book).stat().st_size < 6_000_000
