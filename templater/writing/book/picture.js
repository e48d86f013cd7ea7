// The garment on a canvas. What does not change while it moves is drawn once, larger than the
// window, and only shifted; it is drawn anew when the window runs out of it or after a zoom.
const canvas = byId("canvas");
const pen = canvas.getContext("2d");
const sheet = document.createElement("canvas");
const ink = sheet.getContext("2d");
const MARGIN = 0.4;
const drawn = { scale: 0, x: 0, y: 0, wide: 0, high: 0 };
let waiting = 0, sharpen = 0;

const look = (name) => getComputedStyle(document.documentElement).getPropertyValue(name).trim();

function path(rings, closed = true) {
  const made = new Path2D();
  for (const ring of rings) {
    made.moveTo(ring[0], ring[1]);
    for (let i = 2; i < ring.length; i += 2) made.lineTo(ring[i], ring[i + 1]);
    if (closed) made.closePath();
  }
  return made;
}

const patchPaths = data.patches.map((patch) => path(patch.rings));
const blocks = data.blocks.map((block) => ({
  cloths: block.cloths.map((cloth) => ({ ...cloth, path: path(cloth.rings) })),
  marks: block.marks.map((mark) => ({ ...mark, path: path([mark.line], mark.closed) })),
  captions: block.captions, box: block.box,
}));
// [colour, dashes in px, width in px]: lines differ in their dashes, not only in colour.
const MARKS = {
  fold: ["#8a4fa3", [14, 3, 2, 3], 1.5], crease: ["#2f6fb0", [6, 3], 1.2], seam: ["#2f6fb0", [9, 4], 1.2],
  edge: ["#777777", [], 1.6], dart: ["#2f6fb0", [4, 3], 1.2], notch: ["#777777", [], 2],
  clear: ["#c0392b", [2, 3], 1.6], low: ["#b9770e", [1, 4], 1.6],
};

const width = () => canvas.clientWidth, height = () => canvas.clientHeight;
const ratio = () => Math.min(window.devicePixelRatio || 1, 2);
const toX = (px) => state.x + (px - width() / 2) / state.scale;
const toY = (py) => state.y - (py - height() / 2) / state.scale;
const pxX = (x) => (x - state.x) * state.scale + width() / 2;
const pxY = (y) => height() / 2 - (y - state.y) * state.scale;

function resize() {
  const dots = ratio();
  canvas.width = Math.max(1, Math.round(width() * dots));
  canvas.height = Math.max(1, Math.round(height() * dots));
  drawn.scale = 0;
  draw();
}

function showAll() {
  const [wide, high] = data.size;
  state.x = wide / 2; state.y = high / 2;
  state.scale = Math.min(width() / (wide + 30), height() / (high + 40)) || 1;
  draw();
}

function zoomBy(factor, px = width() / 2, py = height() / 2) {
  const x = toX(px), y = toY(py);
  state.scale = Math.min(Math.max(state.scale * factor, 0.1), 80);
  state.x += x - toX(px); state.y += y - toY(py);
  draw();
}

function panBy(dx, dy) {
  const [wide, high] = data.size;
  state.x = Math.min(Math.max(state.x - dx / state.scale, -wide * 0.2), wide * 1.2);
  state.y = Math.min(Math.max(state.y + dy / state.scale, -high * 0.2), high * 1.2);
  draw();
}

/** Draw at the next frame, once however often it is asked for. */
function draw() {
  if (!waiting) waiting = requestAnimationFrame(() => { waiting = 0; frame(); });
}

/** Forget what was drawn: a layer, a tick or the light has changed. */
function redraw() { drawn.scale = 0; draw(); }

function frame() {
  const dots = ratio(), wide = width(), high = height();
  const reach = drawn.scale ? MARGIN : -1;
  const far = Math.max(Math.abs(drawn.x - state.x) / (wide / state.scale), Math.abs(drawn.y - state.y) / (high / state.scale));
  if (drawn.scale !== state.scale) {
    clearTimeout(sharpen);
    if (drawn.scale && !document.hidden) sharpen = setTimeout(() => { drawSheet(); frame(); }, 90);
    else drawSheet();
  } else if (far > reach) drawSheet();
  pen.setTransform(1, 0, 0, 1, 0, 0);
  pen.fillStyle = look("--stage");
  pen.fillRect(0, 0, canvas.width, canvas.height);
  const grow = state.scale / drawn.scale;
  const left = pxX(drawn.x) - (drawn.wide / 2) * grow, top = pxY(drawn.y) - (drawn.high / 2) * grow;
  pen.drawImage(sheet, left * dots, top * dots, sheet.width * grow, sheet.height * grow);
  drawChosen(dots);
  drawMeasure(dots);
}

function drawSheet() {
  const dots = ratio();
  Object.assign(drawn, { scale: state.scale, x: state.x, y: state.y, wide: width() * (1 + 2 * MARGIN), high: height() * (1 + 2 * MARGIN) });
  sheet.width = Math.max(1, Math.round(drawn.wide * dots));
  sheet.height = Math.max(1, Math.round(drawn.high * dots));
  const s = state.scale * dots;
  const place = () => ink.setTransform(s, 0, 0, -s, sheet.width / 2 - state.x * s, sheet.height / 2 + state.y * s);
  place();
  if (!state.hidden.has("cloth")) drawCloths();
  drawStones(s);
  place();
  if (!state.hidden.has("clear")) drawMarks(["clear", "low"]);
  if (!state.hidden.has("marks")) drawMarks(["edge", "seam", "crease", "dart", "notch", "fold"]);
  if (!state.hidden.has("patches")) drawPatches(s, dots);
  drawCaptions(s, dots);
}

function drawCloths() {
  ink.lineWidth = 1 / state.scale;
  for (const block of blocks) {
    for (const cloth of block.cloths) {
      ink.fillStyle = cloth.colour; ink.strokeStyle = "#7d8480";
      ink.fill(cloth.path, "evenodd"); ink.stroke(cloth.path);
    }
  }
}

function drawMarks(roles) {
  for (const block of blocks) {
    for (const mark of block.marks) {
      if (!roles.includes(mark.role)) continue;
      const [colour, dashes, wide] = MARKS[mark.role];
      ink.strokeStyle = colour; ink.lineWidth = wide / state.scale;
      ink.setLineDash(dashes.map((dash) => dash / state.scale));
      ink.stroke(mark.path);
    }
  }
  ink.setLineDash([]);
}

/** A kind of stone painted once at this scale. */
function sprite(kind, s) {
  const side = Math.max(3, 2 * Math.ceil((Math.max(kind.length, kind.width) / 2) * s + 1.5));
  const made = document.createElement("canvas");
  made.width = made.height = side;
  const brush = made.getContext("2d");
  brush.setTransform(s, 0, 0, -s, side / 2, side / 2);
  for (const [ring, colour] of kind.facets) { brush.fillStyle = colour; brush.fill(path([ring])); }
  return made;
}

function drawStones(s) {
  const sprites = data.kinds.map((kind) => (state.hidden.has(`stones ${kind.size}`) ? null : sprite(kind, s)));
  const dx = sheet.width / 2 - state.x * s, dy = sheet.height / 2 + state.y * s;
  ink.setTransform(1, 0, 0, 1, 0, 0);
  for (let i = 0; i < data.ids.length; i += 1) {
    const picture = sprites[of(i, KIND)];
    if (!picture) continue;
    const half = picture.width / 2, x = stoneX(i) * s + dx, y = dy - stoneY(i) * s;
    if (x < -half || y < -half || x > sheet.width + half || y > sheet.height + half) continue;
    const turn = of(i, TURN);
    if (turn === 0) ink.drawImage(picture, x - half, y - half);
    else {
      const angle = (-turn * Math.PI) / 180, c = Math.cos(angle), n = Math.sin(angle);
      ink.setTransform(c, n, -n, c, x, y);
      ink.drawImage(picture, -half, -half);
      ink.setTransform(1, 0, 0, 1, 0, 0);
    }
  }
}

function hatch(dots) {
  const made = document.createElement("canvas");
  const side = 8 * dots;
  made.width = made.height = side;
  const brush = made.getContext("2d");
  for (const [colour, wide] of [["rgba(255,255,255,0.85)", 3 * dots], ["#10282b", 1.4 * dots]]) {
    brush.strokeStyle = colour; brush.lineWidth = wide;
    brush.beginPath();
    for (const shift of [-side, 0, side]) { brush.moveTo(shift - 2, side + 2); brush.lineTo(shift + side + 2, -2); }
    brush.stroke();
  }
  return ink.createPattern(made, "repeat");
}

function drawPatches(s, dots) {
  const pattern = hatch(dots);
  pattern.setTransform(new DOMMatrix([1 / s, 0, 0, -1 / s, 0, 0]));
  data.patches.forEach((patch, at) => {
    if (!state.hidden.has("set") && isTicked(patch)) { ink.fillStyle = pattern; ink.fill(patchPaths[at], "evenodd"); }
    ink.lineWidth = 2.6 / state.scale; ink.strokeStyle = "rgba(255,255,255,0.75)"; ink.stroke(patchPaths[at]);
    ink.lineWidth = 1 / state.scale; ink.strokeStyle = "#10282b"; ink.stroke(patchPaths[at]);
  });
  ink.setTransform(1, 0, 0, 1, 0, 0);
  ink.textAlign = "center"; ink.textBaseline = "middle"; ink.lineJoin = "round";
  const size = Math.min(Math.max(5 * s, 9 * dots), 20 * dots);
  if (5.5 * s < 6 * dots) return;
  ink.font = `650 ${size}px system-ui, "DejaVu Sans", sans-serif`;
  for (const patch of data.patches) {
    const x = (patch.at[0] - state.x) * s + sheet.width / 2, y = sheet.height / 2 - (patch.at[1] - state.y) * s;
    const text = isTicked(patch) ? `✓${patch.number}` : String(patch.number);
    ink.lineWidth = size / 3.2; ink.strokeStyle = "rgba(255,255,255,0.92)"; ink.strokeText(text, x, y);
    ink.fillStyle = "#10282b"; ink.fillText(text, x, y);
  }
}

function drawCaptions(s, dots) {
  ink.setTransform(1, 0, 0, 1, 0, 0);
  ink.textAlign = "center"; ink.textBaseline = "top"; ink.fillStyle = look("--ink");
  ink.font = `${13 * dots}px "templater letters", system-ui, "DejaVu Sans", sans-serif`;
  for (const block of blocks) {
    for (const [text, x] of block.captions) {
      ink.fillText(text, (x - state.x) * s + sheet.width / 2, sheet.height / 2 - (block.box[1] - state.y) * s + 8 * dots);
    }
  }
}

function drawChosen(dots) {
  if (!state.chosen) return;
  const s = state.scale * dots, { kind, at } = state.chosen;
  pen.setTransform(s, 0, 0, -s, canvas.width / 2 - state.x * s, canvas.height / 2 + state.y * s);
  const around = kind === "stone" ? ring(at, 1.5) : new Path2D();
  if (kind === "patch") around.addPath(patchPaths[at]);
  if (kind === "zone") data.patches.forEach((patch, i) => { if (patch.zone === at) around.addPath(patchPaths[i]); });
  if (kind !== "stone") {  // the neighbours are greyed
    const rest = new Path2D(), [wide, high] = data.size, far = 20 * (wide + high);
    rest.rect(-far, -far, 2 * far, 2 * far);
    rest.addPath(around);
    pen.fillStyle = "rgba(120,125,125,0.45)"; pen.fill(rest, "evenodd");
  }
  pen.lineJoin = "round";
  pen.lineWidth = 5 / state.scale; pen.strokeStyle = "#ffffff"; pen.stroke(around);
  pen.lineWidth = 2.4 / state.scale; pen.strokeStyle = "#b3541e"; pen.stroke(around);
}

function ring(stone, beyond) {
  const made = new Path2D(), kind = data.kinds[of(stone, KIND)];
  made.arc(stoneX(stone), stoneY(stone), kind.length / 2 + beyond / state.scale + 0.4, 0, 2 * Math.PI);
  return made;
}

function drawMeasure(dots) {
  pen.setTransform(dots, 0, 0, dots, 0, 0);
  if (state.measuring) cross(width() / 2, height() / 2);
  const points = state.measure.map(([x, y]) => [pxX(x), pxY(y)]);
  points.forEach(([x, y]) => cross(x, y));
  if (points.length !== 2) return;
  for (const [colour, wide] of [["#ffffff", 5], ["#b3541e", 2]]) {
    pen.strokeStyle = colour; pen.lineWidth = wide;
    pen.beginPath(); pen.moveTo(...points[0]); pen.lineTo(...points[1]); pen.stroke();
  }
}

function cross(x, y) {
  for (const [colour, wide] of [["#ffffff", 4], ["#b3541e", 1.6]]) {
    pen.strokeStyle = colour; pen.lineWidth = wide;
    pen.beginPath();
    pen.moveTo(x - 9, y); pen.lineTo(x + 9, y); pen.moveTo(x, y - 9); pen.lineTo(x, y + 9);
    pen.stroke();
  }
}

/** The patch at a place; -1 for none. Of several the one drawn last. */
function patchAt(x, y) {
  pen.setTransform(1, 0, 0, 1, 0, 0);
  for (let i = data.patches.length - 1; i >= 0; i -= 1) {
    if (pen.isPointInPath(patchPaths[i], x, y, "evenodd")) return i;
  }
  return -1;
}

/** Bring a place into the window, and near enough to see. */
function reveal(x, y, least) {
  state.x = x; state.y = y;
  if (state.scale < least) state.scale = least;
  draw();
}
