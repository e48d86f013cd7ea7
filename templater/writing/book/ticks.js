// Ticks: which patches are set and when. Kept in the browser, exported and read back as a file.
const PLACE = `templater-book:${data.job}`;
let keeps = true;
let ticks = readKept();

function readKept() {
  try {
    const kept = JSON.parse(localStorage.getItem(PLACE) || "{}");
    localStorage.setItem(`${PLACE}:try`, "1");
    localStorage.removeItem(`${PLACE}:try`);
    return known(kept.ticks || {});
  } catch { keeps = false; return {}; }
}

/** Only what is a tick of one of these patches. */
function known(found) {
  const names = new Set(data.patches.map((patch) => patch.name));
  return Object.fromEntries(Object.entries(found).filter(([name, when]) => names.has(name) && typeof when === "string"));
}

const isTicked = (patch) => Object.hasOwn(ticks, patch.name);
const bundle = () => ({ format: "templater-ticks 1", job: data.job, name: data.name, ticks });

function keep() {
  try { localStorage.setItem(PLACE, JSON.stringify(bundle())); keeps = true; } catch { keeps = false; }
}

function setTick(at, on) {
  const name = data.patches[at].name;
  if (on) ticks[name] = new Date().toISOString();
  else delete ticks[name];
  keep();
  ticksChanged();
}

function exportTicks() {
  const link = element("a", {
    href: URL.createObjectURL(new Blob([JSON.stringify(bundle(), null, 1)], { type: "application/json" })),
    download: `${data.name.toLowerCase().replace(/[^a-z0-9]+/g, "-").replace(/^-|-$/g, "") || "garment"}-ticks.json`,
  });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

async function importTicks(file) {
  let found;
  try { found = JSON.parse(await file.text()); } catch { found = null; }
  if (!found || found.format !== "templater-ticks 1" || typeof found.ticks !== "object" || !found.ticks) {
    byId("read").textContent = say.import_bad;
    return;
  }
  const taken = known(found.ticks);
  const lost = Object.keys(found.ticks).length - Object.keys(taken).length;
  ticks = { ...ticks, ...taken };
  keep();
  byId("read").textContent = fill(lost ? say.imported_some : say.imported, { n: Object.keys(taken).length, lost });
  ticksChanged();
}

/** The patch to set next: after the last ticked in its zone and side, else the first that is left. */
function nextPatch() {
  const left = data.patches.map((_, at) => at).filter((at) => !isTicked(data.patches[at]));
  if (!left.length) return -1;
  const last = data.patches.filter(isTicked).sort((a, b) => (ticks[a.name] < ticks[b.name] ? -1 : 1)).pop();
  const near = last && left.find((at) => data.patches[at].zone === last.zone && data.patches[at].side === last.side && data.patches[at].later === last.later);
  return near === undefined ? left[0] : near;
}

/** The maker's own pace, from ticks that follow each other without a long rest. */
function pace() {
  const done = data.patches.filter(isTicked).map((patch) => ({ patch, when: Date.parse(ticks[patch.name]) }))
    .filter((one) => Number.isFinite(one.when)).sort((a, b) => a.when - b.when);
  let stones = 0, spent = 0, planned = 0, n = 0;
  for (let i = 1; i < done.length; i += 1) {
    const took = (done[i].when - done[i - 1].when) / 60000, patch = done[i].patch;
    // Longer than four times the plan: a rest. Under a tenth of it: several ticked at once.
    if (took > 4 * patch.minutes + 5 || took < patch.minutes / 10) continue;
    stones += patch.stones; spent += took; planned += patch.minutes; n += 1;
  }
  return n ? { n, rate: (60 * stones) / spent, planned: (60 * stones) / planned, factor: planned / spent } : null;
}

function standing() {
  const left = data.patches.filter((patch) => !isTicked(patch));
  const stones = left.reduce((sum, patch) => sum + patch.stones, 0);
  const minutes = left.reduce((sum, patch) => sum + patch.minutes, 0);
  return { stones, minutes, patches: data.patches.length - left.length };
}
