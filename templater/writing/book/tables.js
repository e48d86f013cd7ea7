// Lists, tables and cards.
function chip(kind) {
  const reach = Math.max(kind.length, kind.width) / 2 + 0.1;
  const space = "http://www.w3.org/2000/svg";
  const picture = document.createElementNS(space, "svg");
  picture.setAttribute("viewBox", `${-reach} ${-reach} ${2 * reach} ${2 * reach}`);
  picture.setAttribute("class", "chip");
  picture.setAttribute("aria-hidden", "true");
  for (const [line, colour] of kind.facets) {
    const facet = document.createElementNS(space, "polygon");
    const points = [];
    for (let i = 0; i < line.length; i += 2) points.push(`${line[i]},${-line[i + 1]}`);
    facet.setAttribute("points", points.join(" "));
    facet.setAttribute("fill", colour);
    picture.append(facet);
  }
  return picture;
}

const kindWords = (kind) => `${kind.size} ${kind.colour} ${kind.finish}`;

function trayList(tray) {
  return element("ul", { class: "trays" }, ...tray.map(([number, stones]) => {
    const kind = data.kinds[number];
    return element("li", {}, element("span", { class: "letter" }, kind.letter), chip(kind),
      element("span", {}, kindWords(kind)), element("b", {}, many(stones)));
  }));
}

function tickButton(at) {
  const on = isTicked(data.patches[at]);
  return element("button", { type: "button", class: on ? "" : "main", onclick: () => setTick(at, !on) }, on ? say.untick : say.tick);
}

function patchFacts(at) {
  const patch = data.patches[at], most = data.zones[patch.zone].most;
  return [
    element("p", { class: "next-name" }, patchWords(at)), ...(patch.later ? [element("p", {}, say.later)] : []),
    facts([[say.stones, many(patch.stones)], [say.minutes, patch.minutes], [say.most, most || ""]]),
    element("h3", {}, say.next_lay_out), trayList(patch.tray),
    element("div", { class: "row" }, tickButton(at),
      element("button", { type: "button", onclick: () => choose({ kind: "patch", at }, true) }, say.show)),
  ];
}

function stoneFacts(at) {
  const kind = data.kinds[of(at, KIND)], patch = of(at, PATCH), move = data.blocks[of(at, BLOCK)].move;
  const exact = (value) => String(Math.round(value * 10000) / 10000);
  const row = [
    [say.stone, data.ids[at]], [say.tray, kind.letter], [say.size, kind.size], [say.colour, kind.colour], [say.finish, kind.finish],
    [say.zone, zoneWords(of(at, ZONE), data.sides[at])], [say.patch, patch < 0 ? "" : data.patches[patch].number],
    [say.kind, say[settings[of(at, SET)]]],
    [say.place, `${exact(stoneX(at) - move[0])}, ${exact(stoneY(at) - move[1])} mm`],
    [say.turn, of(at, TURN) === 0 ? "" : `${of(at, TURN)}°`], [say.measure_of, `${kind.length} × ${kind.width} mm`],
  ];
  const made = [facts(row)];
  if (patch >= 0) made.push(element("div", { class: "row" }, element("button", { type: "button", onclick: () => choose({ kind: "patch", at: patch }) }, say.patch)));
  return made;
}

function zoneFacts(at) {
  const zone = data.zones[at], own = data.patches.filter((patch) => patch.zone === at);
  return [
    element("p", { class: "next-name" }, zone.name),
    facts([
      [say.stones, many(zone.stones)], [say.time_left, duration(own.filter((p) => !isTicked(p)).reduce((sum, p) => sum + p.minutes, 0))],
      [say.minutes, zone.minutes], [say.mass, `${zone.mass} g`], [say.patches, own.length], [say.most, zone.most || ""],
    ]),
  ];
}

function showChosen() {
  const chosen = state.chosen;
  const made = !chosen ? [element("p", {}, say.nothing_chosen)]
    : chosen.kind === "stone" ? stoneFacts(chosen.at) : chosen.kind === "patch" ? patchFacts(chosen.at) : zoneFacts(chosen.at);
  byId("chosen").replaceChildren(...made);
  for (const row of document.querySelectorAll(".patch")) {
    row.classList.toggle("on", Boolean(chosen) && chosen.kind === "patch" && Number(row.dataset.at) === chosen.at);
  }
}

function showNext() {
  const at = nextPatch();
  byId("next-card").replaceChildren(...(at < 0 ? [element("p", {}, data.patches.length ? say.done_all : "")] : patchFacts(at)));
}

function showFar() {
  const { stones, minutes, patches } = standing();
  const all = data.patches.reduce((sum, patch) => sum + patch.stones, 0);
  byId("bar").value = all ? (all - stones) / all : 0;
  byId("far").textContent = `${many(stones)} ${say.of} ${many(all)} ${say.stones_left} · ${duration(minutes)} ${say.time_left} · ${patches} ${say.of} ${data.patches.length} ${say.patches_done}`;
  byId("kept").textContent = keeps ? say.kept_here : say.not_kept;
  const own = pace();
  byId("pace").textContent = !own ? say.pace_none
    : `${fill(say.pace_words, { rate: Math.round(own.rate), n: own.n, planned: Math.round(own.planned), hours: duration(minutes / own.factor) })} ${fill(say.pace_job, { factor: own.factor.toFixed(2) })}`;
}

/** The patches by zone and side, each with its tick; built once, then only updated. */
function buildList() {
  const groups = new Map();
  data.patches.forEach((patch, at) => {
    const key = `${patch.zone} ${patch.side}`;
    if (!groups.has(key)) groups.set(key, []);
    groups.get(key).push(at);
  });
  byId("list").replaceChildren(...[...groups.values()].map((own, number) => {
    const first = data.patches[own[0]];
    return element("details", { open: number === 0, "data-group": own.join(" ") },
      element("summary", {}, element("span", {}, zoneWords(first.zone, first.side)), element("span", { class: "sum" })),
      element("div", {}, ...own.map((at) => {
        const patch = data.patches[at];
        return element("div", { class: "patch", "data-at": at },
          element("label", {},
            element("input", { type: "checkbox", onchange: (event) => setTick(at, event.target.checked) }),
            element("span", {}, `${say.patch} ${patch.number}: ${many(patch.stones)} ${say.stones.toLowerCase()}, ${patch.minutes} ${say.min}${patch.later ? `, ${say.later}` : ""}`)),
          element("button", { type: "button", "aria-label": `${say.show}: ${patchWords(at)}`, onclick: () => choose({ kind: "patch", at }, true) }, say.show));
      })));
  }));
}

function updateList() {
  for (const row of document.querySelectorAll(".patch")) {
    const on = isTicked(data.patches[row.dataset.at]);
    row.classList.toggle("done", on);
    row.querySelector("input").checked = on;
  }
  for (const group of document.querySelectorAll("#list details")) {
    const own = group.dataset.group.split(" ").map((at) => data.patches[at]);
    group.querySelector(".sum").textContent = `${own.filter(isTicked).length} ${say.of} ${own.length}`;
  }
}

function table(caption, heads, rows, numeric, shown = true) {
  const right = (at) => (numeric.includes(at) ? "n" : "");
  return element("div", { class: "scroll", tabindex: "0", role: "region", "aria-label": caption }, element("table", {},
    element("caption", { class: shown ? null : "quiet" }, caption),
    element("thead", {}, element("tr", {}, ...heads.map((head, at) => element("th", { scope: "col", class: right(at) }, head)))),
    element("tbody", {}, ...rows.map((row) => element("tr", {}, ...row.map((cell, at) => element("td", { class: right(at) }, cell)))))));
}

function buildTables() {
  const rows = data.shopping.map((line) => {
    const cells = line.slice(0, data.shopping_head.length), instead = line[data.shopping_head.length];
    if (instead) cells[2] = element("span", {}, cells[2], element("small", {}, instead));
    return cells;
  });
  const money = data.cost === null ? [] : [element("p", {}, `${say.total}: ${data.cost.toFixed(2)} ${data.currency}`)];
  byId("buy").append(
    table(say.stones, data.shopping_head.map((head) => say[head]), rows, [4, 5, 6, 7, 8, 9, 10, 11]), ...money);
  if (data.apart.length) byId("buy").append(table(say.care_apart, [say.stones, ""], data.apart, []));
  if (data.cloths.length) byId("buy").append(table(say.fabric, [say.fabric, say.parts, say.area, say.length], data.cloths, [1, 2, 3]));
  const swatch = data.words.swatch;
  if (data.swatches.length) {
    byId("buy").append(table(swatch.heading, [say.zone, say.stones, say.next_lay_out],
      data.swatches.map(([name, stones, kinds]) => [name, String(stones), element("span", { class: "long" }, kinds.join(", "))]), [1]));
  }
  byId("buy").append(element("ul", {}, ...data.facts.map((fact) => element("li", {}, fact))));
  const zones = data.zones.map((zone, at) => [
    element("button", { type: "button", onclick: () => choose({ kind: "zone", at }, true) }, zone.name),
    many(zone.stones), duration(zone.minutes), `${zone.mass} g`, String(data.patches.filter((patch) => patch.zone === at).length), String(zone.most)]);
  byId("zone-table").append(table(say.by_zone, [say.zone, say.stones, say.minutes, say.mass, say.patches, say.most], zones, [1, 2, 3, 4, 5], false));
}

function buildGuide() {
  const { steps, care, repair, storing } = data.words;
  const section = (title, ...children) => element("section", {}, element("h2", {}, title), ...children);
  const list = (items) => element("ul", {}, ...items.map((item) => element("li", {}, item)));
  byId("guide").append(
    section(steps.title, element("ol", {}, ...steps.items.map(([name, text]) => element("li", {}, element("strong", {}, `${name}. `), text)))),
    section(care.title, list(care.items)),
    section(repair.title, element("p", {}, repair.lead), list(data.shopping.map((line) => `${line[1]} ${line[2]} ${line[3]}: ${line[6]}`))),
    section(storing.title, list(storing.items)));
}
