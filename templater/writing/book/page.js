// Puts the page together: words, events, keys.
for (const part of document.querySelectorAll("[data-say]")) part.textContent = say[part.dataset.say];
for (const part of document.querySelectorAll("[data-label]")) part.setAttribute("aria-label", say[part.dataset.label]);
byId("name").textContent = data.name;

function remembered(name) { try { return localStorage.getItem(`templater-book:${name}`); } catch { return null; } }
function remember(name, value) { try { localStorage.setItem(`templater-book:${name}`, value); } catch { /* not kept, then */ } }

// Light and dark: as the device has it until the maker says otherwise.
const night = matchMedia("(prefers-color-scheme: dark)");
function applyTheme() {
  const dark = remembered("theme") ? remembered("theme") === "dark" : night.matches;
  document.documentElement.dataset.theme = dark ? "dark" : "light";
  redraw();
}
night.addEventListener("change", applyTheme);
byId("theme").onclick = () => { remember("theme", document.documentElement.dataset.theme === "dark" ? "light" : "dark"); applyTheme(); };

// Cautions stand before everything else until they are read, and can be called back.
const cautions = data.words.cautions;
byId("cautions").append(
  element("h2", { id: "cautions-title" }, cautions.title), element("p", {}, cautions.lead),
  element("dl", {}, ...cautions.items.map(([name, text]) => element("div", {}, element("dt", {}, name), element("dd", {}, text)))),
  element("button", { type: "button", class: "main", onclick: () => { remember(`${data.job}:read`, "1"); byId("cautions").hidden = true; byId("work").focus(); } }, say.cautions_read));
byId("cautions").hidden = remembered(`${data.job}:read`) === "1";
byId("again").onclick = () => { byId("cautions").hidden = false; byId("cautions").focus(); scrollTo(0, 0); };

function choose(chosen, shown = false) {
  state.chosen = chosen;
  if (chosen && shown) {
    if (chosen.kind === "patch") reveal(...data.patches[chosen.at].at, Math.min(width(), height()) / 140);
    if (chosen.kind === "stone") reveal(stoneX(chosen.at), stoneY(chosen.at), Math.min(width(), height()) / 80);
    if (chosen.kind === "zone") showAll();
  }
  showChosen();
  draw();
}

function ticksChanged() { showFar(); showNext(); showChosen(); updateList(); redraw(); }

function pickAt(x, y) {
  if (state.measuring) return measureAt(x, y);
  const stone = stoneAt(x, y, 6 / state.scale), patch = patchAt(x, y);
  if (state.pick === "stone" && stone >= 0) return choose({ kind: "stone", at: stone });
  if (state.pick === "patch" && patch >= 0) return choose({ kind: "patch", at: patch });
  if (state.pick === "zone" && (patch >= 0 || stone >= 0)) return choose({ kind: "zone", at: patch >= 0 ? data.patches[patch].zone : of(stone, ZONE) });
  return choose(null);
}

function setMeasuring(on) {
  state.measuring = on;
  state.measure = [];
  byId("measure").setAttribute("aria-pressed", String(on));
  canvas.classList.toggle("measuring", on);
  byId("told").textContent = on ? say.measure_start : "";
  draw();
}

function measureAt(x, y) {
  if (state.measure.length === 2) state.measure = [];
  state.measure.push([x, y]);
  const [a, b] = state.measure;
  byId("told").textContent = b ? fill(say.measured, { mm: lengthWords(Math.hypot(b[0] - a[0], b[1] - a[1])) }) : say.measure_end;
  draw();
}

// Pointers: one drags, two pinch, a still one picks.
const touching = new Map();
let moved = 0;
const spread = () => { const [a, b] = [...touching.values()]; return Math.hypot(a.x - b.x, a.y - b.y); };
const middle = () => { const all = [...touching.values()]; return { x: all.reduce((s, p) => s + p.x, 0) / all.length, y: all.reduce((s, p) => s + p.y, 0) / all.length }; };
const placeOf = (event) => { const box = canvas.getBoundingClientRect(); return { x: event.clientX - box.left, y: event.clientY - box.top }; };

canvas.addEventListener("pointerdown", (event) => {
  try { canvas.setPointerCapture(event.pointerId); } catch { /* gone already */ }
  if (!touching.size) moved = 0;
  touching.set(event.pointerId, placeOf(event));
});
canvas.addEventListener("pointermove", (event) => {
  if (!touching.has(event.pointerId)) return;
  const before = middle(), wide = touching.size === 2 ? spread() : 0;
  touching.set(event.pointerId, placeOf(event));
  const after = middle();
  moved += Math.hypot(after.x - before.x, after.y - before.y);
  if (moved > 4 || touching.size > 1) panBy(after.x - before.x, after.y - before.y);
  if (wide > 0 && touching.size === 2) { moved += 9; zoomBy(spread() / wide, after.x, after.y); }
});
function lift(event) {
  if (!touching.has(event.pointerId)) return;
  const at = touching.get(event.pointerId);
  touching.delete(event.pointerId);
  if (event.type === "pointerup" && !touching.size && moved <= 4) pickAt(toX(at.x), toY(at.y));
}
canvas.addEventListener("pointerup", lift);
canvas.addEventListener("pointercancel", lift);
canvas.addEventListener("wheel", (event) => {
  event.preventDefault();
  const at = placeOf(event);
  zoomBy(Math.exp(-event.deltaY * (event.deltaMode === 1 ? 0.05 : 0.0015)), at.x, at.y);
}, { passive: false });

function step(list, from, by) { return list.length ? list[(list.indexOf(from) + by + list.length) % list.length] : -1; }
function nextStone() {
  const chosen = state.chosen;
  const patch = !chosen ? nextPatch() : chosen.kind === "patch" ? chosen.at : chosen.kind === "stone" ? of(chosen.at, PATCH) : -1;
  if (patch < 0) return;
  const own = stonesOfPatch[patch];
  choose({ kind: "stone", at: chosen && chosen.kind === "stone" ? step(own, chosen.at, 1) : own[0] }, true);
}
function chosenPatch() {
  const chosen = state.chosen;
  return !chosen || chosen.kind === "zone" ? -1 : chosen.kind === "patch" ? chosen.at : of(chosen.at, PATCH);
}

const patchNumbers = data.patches.map((_, at) => at);
const zoneNumbers = data.zones.map((_, at) => at);
const KEYS = {
  ArrowLeft: () => panBy(60, 0), ArrowRight: () => panBy(-60, 0), ArrowUp: () => panBy(0, 60), ArrowDown: () => panBy(0, -60),
  "+": () => zoomBy(1.25), "=": () => zoomBy(1.25), "-": () => zoomBy(0.8), 0: showAll,
  n: () => choose(patchNumbers.length ? { kind: "patch", at: chosenPatch() < 0 ? 0 : step(patchNumbers, chosenPatch(), 1) } : null, true),
  p: () => choose(patchNumbers.length ? { kind: "patch", at: chosenPatch() < 0 ? patchNumbers.length - 1 : step(patchNumbers, chosenPatch(), -1) } : null, true),
  z: () => choose(zoneNumbers.length ? { kind: "zone", at: state.chosen && state.chosen.kind === "zone" ? step(zoneNumbers, state.chosen.at, 1) : 0 } : null, true),
  s: nextStone,
  Enter: () => { const at = chosenPatch(); if (at >= 0) setTick(at, !isTicked(data.patches[at])); },
  m: () => { if (!state.measuring) setMeasuring(true); measureAt(state.x, state.y); },
  Escape: () => { setMeasuring(false); choose(null); },
};
canvas.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.metaKey || event.altKey) return;
  const action = KEYS[event.key] || KEYS[event.key.toLowerCase()];
  if (!action) return;
  event.preventDefault();
  action();
});

byId("in").onclick = () => zoomBy(1.4);
byId("out").onclick = () => zoomBy(1 / 1.4);
byId("all").onclick = showAll;
byId("measure").onclick = () => setMeasuring(!state.measuring);
byId("pick").append(...["patch", "stone", "zone"].map((kind) => element("option", { value: kind }, say[`pick_${kind}`])));
byId("pick").onchange = (event) => { state.pick = event.target.value; };
byId("export").onclick = exportTicks;
byId("import").onchange = async (event) => { if (event.target.files[0]) await importTicks(event.target.files[0]); event.target.value = ""; };
byId("clear").onclick = () => { if (confirm(say.clear_sure)) { ticks = {}; keep(); ticksChanged(); } };
byId("print").onclick = () => window.print();

const sizes = [...new Set(data.kinds.map((kind) => kind.size))];
const layers = [["cloth", say.layer_cloth], ...sizes.map((size) => [`stones ${size}`, fill(say.layer_stones, { size })]),
  ["marks", say.layer_marks], ["clear", say.layer_clear], ["patches", say.layer_patches], ["set", say.layer_set]];
byId("layers").append(...layers.map(([name, words]) => element("label", {},
  element("input", { type: "checkbox", checked: true, onchange: (event) => { state.hidden[event.target.checked ? "delete" : "add"](name); redraw(); } }), words)));

addEventListener("beforeprint", () => { for (const part of document.querySelectorAll("#list details")) part.open = true; choose(null); drawn.scale = 0; showAll(); frame(); });
new ResizeObserver(() => { const first = !canvas.dataset.ready; canvas.dataset.ready = "1"; if (first) showAll(); resize(); }).observe(byId("stage"));
addEventListener("storage", (event) => { if (event.key === PLACE) { ticks = readKept(); ticksChanged(); } });

buildList();
buildTables();
buildGuide();
applyTheme();
ticksChanged();
