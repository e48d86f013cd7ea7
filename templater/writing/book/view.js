// The data, the state of the page and small helpers.
const data = JSON.parse(document.getElementById("data").textContent);
const say = data.words.page;
const byId = (id) => document.getElementById(id);
const fill = (text, values) => text.replace(/\{(\w+)\}/g, (_, name) => values[name]);
const many = (number) => number.toLocaleString("en");

const state = {
  scale: 1, x: 0, y: 0,            // px per mm; the scene's place at the middle of the picture
  chosen: null,                    // {kind: "stone" | "patch" | "zone", at: number, side}
  pick: "patch",
  measuring: false, measure: [],
  hidden: new Set(),               // names of layers that are off
};

/** An element with attributes and children; text is text, never markup. */
function element(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "onclick" || key === "onchange" || key === "ontoggle") made[key] = value;
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null) made.setAttribute(key, value);
  }
  made.append(...children);
  return made;
}

function facts(pairs) {
  const list = element("dl", { class: "facts" });
  for (const [name, value] of pairs) {
    if (value !== "" && value !== null) list.append(element("dt", {}, name), element("dd", {}, String(value)));
  }
  return list;
}

function duration(minutes) {
  const whole = Math.round(minutes);
  if (whole < 60) return `${whole} ${say.min}`;
  return `${Math.floor(whole / 60)} ${say.hours} ${String(whole % 60).padStart(2, "0")} ${say.min}`;
}

function lengthWords(mm) {
  return data.display === "in" ? `${(mm / 25.4).toFixed(3)} in (${mm.toFixed(1)} mm)` : `${mm.toFixed(1)} mm`;
}

const zoneWords = (zone, side) => (say[side] ? `${data.zones[zone].name}, ${say[side]}` : data.zones[zone].name);
const patchWords = (at) => {
  const patch = data.patches[at];
  return `${zoneWords(patch.zone, patch.side)}, ${patch.number}`;
};

const KIND = 0, PATCH = 1, ZONE = 2, TURN = 3, SET = 4, BLOCK = 5, FIELDS = 6;
const settings = ["outline", "fill", "row"];
const of = (stone, field) => data.of[stone * FIELDS + field];
const stoneX = (stone) => data.at[2 * stone];
const stoneY = (stone) => data.at[2 * stone + 1];

const stonesOfPatch = data.patches.map(() => []);
for (let i = 0; i < data.ids.length; i += 1) {
  const patch = of(i, PATCH);
  if (patch >= 0) stonesOfPatch[patch].push(i);
}

// Stones by place, in cells of a centimetre.
const CELL_MM = 10;
const cells = new Map();
for (let i = 0; i < data.ids.length; i += 1) {
  const key = `${Math.floor(stoneX(i) / CELL_MM)},${Math.floor(stoneY(i) / CELL_MM)}`;
  if (!cells.has(key)) cells.set(key, []);
  cells.get(key).push(i);
}

/** The stone at or nearest to a place, within `reach` mm beyond its edge; -1 for none. */
function stoneAt(x, y, reach) {
  let best = -1, least = Infinity;
  const wide = Math.ceil((reach + 10) / CELL_MM);
  const column = Math.floor(x / CELL_MM), row = Math.floor(y / CELL_MM);
  for (let i = column - wide; i <= column + wide; i += 1) {
    for (let j = row - wide; j <= row + wide; j += 1) {
      for (const stone of cells.get(`${i},${j}`) || []) {
        const kind = data.kinds[of(stone, KIND)];
        if (state.hidden.has(`stones ${kind.size}`)) continue;
        const far = Math.hypot(stoneX(stone) - x, stoneY(stone) - y) - kind.length / 2;
        if (far < least && far <= reach) { best = stone; least = far; }
      }
    }
  }
  return best;
}
