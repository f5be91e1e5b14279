// The loop and the map: places, and the water between them, on the day that the slider shows.
const PARTS = { treatment: ["Water plant", 300, 110], tanks: ["Tanks", 480, 110], mains: ["Mains", 650, 110],
  yards: ["Yards", 880, 60], homes: ["Homes", 880, 190], workplaces: ["Workplaces", 880, 300],
  sewers: ["Sewers", 650, 430], wastewater: ["Wastewater", 420, 430], reclaimed: ["Reclaimed", 440, 280] };
// Ways of the flows: a colour, then corners as x and y.
const WAYS = {
  "river>treatment": ["river", 100, 110, 300, 110], "ground>treatment": ["ground", 300, 20, 300, 110],
  "import>treatment": ["tap", 240, 20, 240, 110, 300, 110], "import>tanks": ["tap", 480, 20, 480, 110],
  "import>mains": ["tap", 650, 20, 650, 110], "ground>tanks": ["ground", 480, 20, 480, 110],
  "treatment>tanks": ["tap", 300, 110, 480, 110], "tanks>mains": ["tap", 480, 110, 650, 110],
  "mains>yards": ["tap", 650, 96, 770, 96, 770, 60, 880, 60], "mains>homes": ["tap", 650, 110, 750, 110, 750, 190, 880, 190],
  "mains>workplaces": ["tap", 650, 122, 724, 122, 724, 300, 880, 300], "mains>ground": ["ground", 640, 110, 640, 245],
  "homes>sewers": ["sewage", 880, 190, 985, 190, 985, 440, 650, 440], "workplaces>sewers": ["sewage", 880, 300, 880, 412, 650, 412],
  "ground>sewers": ["ground", 660, 275, 660, 430], "land>sewers": ["storm", 760, 520, 680, 520, 680, 430],
  "treatment>sewers": ["sewage", 350, 110, 350, 350, 590, 350, 590, 430], "sewers>wastewater": ["sewage", 650, 430, 420, 430],
  "wastewater>river": ["effluent", 420, 430, 100, 430], "wastewater>reclaimed": ["reclaimed", 440, 430, 440, 280],
  "reclaimed>treatment": ["reclaimed", 440, 280, 260, 280, 260, 110], "reclaimed>yards": ["reclaimed", 440, 265, 560, 265, 560, 40, 880, 40],
  "reclaimed>ground": ["reclaimed", 440, 290, 600, 290, 600, 262, 640, 262], "reclaimed>river": ["reclaimed", 440, 300, 100, 300],
  "sewers>river": ["sewage", 640, 430, 640, 505, 100, 505], "land>river": ["storm", 760, 540, 100, 540],
  "yards>sky": ["air", 880, 60, 1070, 60], "wastewater>solids": ["ground", 420, 430, 420, 490],
  "homes>ground": ["sewage", 880, 205, 700, 205, 700, 262, 660, 262],
};
// Where the number of a flow stands, if not by its longest leg.
const NUMBERS = { "yards>sky": [1000, 94], "mains>homes": [770, 180], "mains>yards": [752, 38], "reclaimed>treatment": [320, 268],
  "wastewater>reclaimed": [452, 388], "wastewater>solids": [426, 474] };
const ENDS = { sky: "the air", solids: "sludge", land: "the land", rain: "rain", ground: "the ground", river: "the river", import: "bought water" };
function partName(name) { return PARTS[name] ? PARTS[name][0].toLowerCase() : ENDS[name] || name; }

function drawLoop() {
  const town = frame.towns.find((one) => one.name === state.town), found = run.towns[state.town].loop;
  const most = Math.max(...found.flows.filter((one) => WAYS[`${one.from}>${one.to}`] && one.from !== "land").flatMap((one) => one.rate));
  const bands = [], labels = [], drawn = new Set();
  const unit = unitFor("flow", most);
  for (const flow of found.flows) {
    const way = WAYS[`${flow.from}>${flow.to}`], rate = flow.rate[state.day];
    if (!way || rate <= most * 0.002) continue;
    drawn.add(`${flow.from}>${flow.to}`);
    const [colour, ...corners] = way, wide = Math.max(2, Math.min(30, 30 * rate / most));
    const points = Array.from({ length: corners.length / 2 }, (_, k) => corners.slice(2 * k, 2 * k + 2));
    const path = `M${points.map((one) => one.join(" ")).join("L")}`;
    bands.push(node("path", { d: path, fill: "none", stroke: "#27404f", "stroke-width": wide + 2, "stroke-linejoin": "round" }),
      node("path", { d: path, fill: "none", stroke: frame.colours.waters[colour], "stroke-width": wide, "stroke-linejoin": "round" }));
    // The words stand by the longest leg.
    const legs = points.slice(1).map((end, k) => [points[k], end, Math.abs(end[0] - points[k][0]) + Math.abs(end[1] - points[k][1])]);
    const [a, b] = legs.reduce((best, one) => (one[2] > best[2] ? one : best));
    const level = a[1] === b[1], x = (a[0] + b[0]) / 2, y = (a[1] + b[1]) / 2;
    const own = NUMBERS[`${flow.from}>${flow.to}`];
    if (own) labels.push(write(own[0], own[1], figures(rate * unit.factor)));
    else labels.push(level ? write(x, y - wide / 2 - 5, figures(rate * unit.factor), { "text-anchor": "middle" })
      : write(x + wide / 2 + 5, y, figures(rate * unit.factor)));
  }
  const river = [node("rect", { x: 70, y: 70, width: 60, height: 490, fill: frame.colours.waters.river, stroke: "#27404f" })];
  const boxes = Object.entries(PARTS).filter(([name]) => found.flows.some((one) => one.from === name || one.to === name))
    .flatMap(([name, [words, x, y]]) => [
      node("rect", { x: x - 68, y: y - 24, width: 136, height: 48, rx: 8, class: "part" }),
      write(x, y - 4, words, { "text-anchor": "middle", class: "strong" }),
      write(x, y + 15, timeWords(found.stay[name]), { "text-anchor": "middle" })]);
  const others = [node("rect", { x: 600, y: 245, width: 88, height: 32, rx: 8, class: "part" }), write(644, 266, "ground", { "text-anchor": "middle" })];
  const names = [write(10, 40, storeLabel(town.intake) || "no intake"), write(10, 590, storeLabel(town.outfall) || "no outfall")];
  const shows = (...ways) => ways.some((way) => drawn.has(way));
  if (shows("land>sewers", "land>river")) names.push(write(766, 530, "rain from the land"));
  if (shows("wastewater>solids")) names.push(write(420, 508, "sludge", { "text-anchor": "middle" }));
  if (shows("yards>sky")) names.push(write(1078, 32, "to the air", { "text-anchor": "end" }));
  if (shows("import>tanks", "import>mains", "import>treatment")) names.push(write(486, 16, "bought"));
  if (shows("ground>treatment", "ground>tanks")) names.push(write(310, 30, "wells"));
  const told = found.flows.filter((one) => WAYS[`${one.from}>${one.to}`]).map((one) => [one.rate[state.day], one])
    .filter(([rate]) => rate > 0.02 * most).sort((a, b) => b[0] - a[0]).slice(0, 6)
    .map(([rate, one]) => `${quantity(rate, "flow", most)} from ${partName(one.from)} to ${partName(one.to)}`);
  const words = `${town.label} on ${dateWords(run.dates[state.day])}: ${joined(told)}.`;
  document.getElementById("loop-words").textContent = `${words} Numbers are in ${unit.name}, bands to scale; times are mean stays over the season (volume over flow).`;
  picture("loop-picture", 1090, 600, words, [...bands, ...river, ...boxes, ...others, ...labels, ...names]);
}
function storeLabel(store) { return frame.river.find((one) => one.store === store)?.label[state.units] ?? ""; }

function mapPlaces() {
  const rows = Math.max(...frame.river.map((one) => one.row)) + 1;
  const left = Math.min(...frame.river.map((one) => one.x)), right = Math.max(...frame.river.map((one) => one.x + one.wide));
  const across = (x) => 50 + 900 * (x - left) / (right - left), down = (row) => 215 + 215 * row;
  const stores = new Map(frame.river.map((one) => [one.store, { ...one, a: across(one.x), b: across(one.x + one.wide), y: down(one.row) }]));
  const towns = new Map(), taken = {};
  for (const town of frame.towns) {
    const ends = [stores.get(town.intake), stores.get(town.outfall)];
    const known = ends.filter(Boolean);
    if (!known.length) continue;
    const row = (ends[1] || ends[0]).row, half = 72;
    const middle = Math.min(1000 - half, Math.max(half, sum(known.map((one) => (one.a + one.b) / 2)) / known.length));
    const levels = taken[row] = taken[row] || [-999, -999];
    const level = middle - half > levels[0] + 6 ? 0 : 1;
    levels[level] = middle + half;
    towns.set(town.name, { ...town, ends, x: middle, y: down(row) - 78 - 60 * level, half });
  }
  return { rows, stores, towns, high: down(rows - 1) + 70 };
}
function drawMap() {
  const { rows, stores, towns, high } = mapPlaces(), parts = [], day = state.day;
  const used = run.river.used[state.gate], rate = run.river.rate;
  const largest = Math.max(...rate.flat().filter((one) => one !== null));
  const most = Math.max(0.1, Math.ceil(20 * Math.max(...used.flat().filter((one) => one !== null)) / SHARES) / 20);
  const thick = (value) => Math.max(3, 46 * value / largest);
  const said = [];
  frame.river.forEach((one, k) => {
    const at = stores.get(one.store), wide = one.role === "reservoir" ? 62 : thick(rate[k][day] ?? 0), share = used[k][day];
    const fill = share === null ? frame.colours.unknown : shadeOf(share / SHARES, most);
    if (one.is_last && one.row > 0) {
      const goal = stores.get(frame.river.find((other) => other.row === 0).store).y;
      parts.push(node("path", { d: `M${at.b} ${at.y}H${at.b + 14}V${goal}`, fill: "none", stroke: fill, "stroke-width": Math.max(4, thick(rate[k][day] ?? 0)) }));
    }
    parts.unshift(node("rect", { x: at.a, y: at.y - wide / 2, width: at.b - at.a, height: wide, rx: one.role === "reservoir" ? 12 : 0, fill, stroke: "#27404f", "stroke-width": 0.8 },
      node("title", {}, `${one.label[state.units]}: ${quantity(rate[k][day], "river_flow")}, ${percent(share === null ? null : share / SHARES)} used before, stays ${timeWords(run.river.stay[k])}`)));
    if (one.role === "reservoir") parts.push(write((at.a + at.b) / 2, at.y + 48, `${one.label[state.units].replace(/^the /, "")}: stays ${timeWords(run.river.stay[k])}`, { "text-anchor": "middle" }));
  });
  for (let row = 0; row < rows; row += 1) {
    const own = frame.river.map((one, k) => [one, k]).filter(([one]) => one.row === row);
    const reaches = own.filter(([one]) => one.role !== "reservoir"), last = own.at(-1);
    const stay = sum(reaches.map(([, k]) => run.river.stay[k] ?? 0));
    const y = stores.get(own[0][0].store).y;
    parts.push(write(50, y + 68 > high - 4 ? high - 4 : y + 68, `${own.find(([one]) => one.role !== "reservoir")?.[0].river ?? own[0][0].river}: ${timeWords(stay)} from head to end`, { class: "strong" }));
    said.push(`${reaches[0]?.[0].river ?? own[0][0].river} ends with ${quantity(rate[last[1]][day], "river_flow")}, ${percent((used[last[1]][day] ?? NaN) / SHARES)} of it used before`);
  }
  const taps = [], boxes = [];
  for (const town of towns.values()) {
    const row = run.glass[state.gate][town.name].layers[day];
    const share = row[0] === null ? null : sum(row.slice(1, -1)) / SHARES;
    taps.push(`${town.label} ${percent(share)}`);
    town.ends.forEach((end, k) => end && parts.push(node("path", { class: "edge", "stroke-dasharray": k ? "5 4" : "none",
      d: `M${end.a + (k ? 0.2 : 0.75) * (end.b - end.a)} ${end.y}V${town.y + 20 - 12 * k}H${town.x}`, "stroke-width": 2.5 })));
    boxes.push(node("rect", { x: town.x - town.half, y: town.y - 24, width: 2 * town.half, height: 48, rx: 8, class: "part" }),
      write(town.x, town.y - 5, town.label, { "text-anchor": "middle", class: "strong" }),
      write(town.x, town.y + 15, `tap: ${percent(share)} used`, { "text-anchor": "middle" }));
  }
  parts.push(...boxes, ...walkMarks(stores, towns));
  for (let k = 0; k < 40; k += 1) parts.push(node("rect", { x: 660 + 5 * k, y: 6, width: 5.5, height: 14, fill: frame.colours.shades[k] }));
  parts.push(write(652, 18, "used before: 0 %", { "text-anchor": "end" }), write(868, 18, percent(most)));
  const words = `On ${dateWords(run.dates[day])}: ${joined(said)}. Used before at the taps: ${joined(taps)}.`;
  document.getElementById("map-words").textContent = `${words} ${transitWords()} Whole lines lead from an intake, broken ones to an outfall. Distances are not to scale.`;
  picture("map-picture", 1000, high, words, parts);
}
// How long water is under way: the middle drop, and the range of eight tenths of them.
function transitWords() {
  const own = run.towns[state.town], town = townLabel(state.town);
  const range = ([low, middle, high]) => `about ${timeWords(middle)}${high === null ? "" : ` (eight tenths of it: ${timeWords(low)} to ${timeWords(high)})`}`;
  const said = own.transit.own[1] === null ? [] : [`From intake to outfall, water is in ${town} for ${range(own.transit.own)}.`];
  for (const [name, time] of Object.entries(own.transit.taps)) if (time[1] !== null) said.push(`From there to a tap in ${townLabel(name)} takes ${range(time)}.`);
  return said.length ? `${said.join(" ")} Ways through the ground take years and are left out.` : "";
}
// Where a drop's path runs on the map, up to the day shown.
function walkMarks(stores, towns) {
  const walk = run.towns[state.town].walks[state.walk];
  if (!walk) return [];
  const spots = [];
  for (const [day, store, uses] of walk.path) {
    const river = stores.get(store), town = towns.get(store.split("/")[0]);
    if (river) spots.push([day, (river.a + river.b) / 2, river.y, uses]);
    else if (town) spots.push([day, town.x, town.y, uses]);
  }
  const now = dayNumber(run.dates[state.day]);
  const come = spots.filter((one) => one[0] < now + 1);
  if (!come.length) return [];
  const line = come.map((one) => `${one[1].toFixed(1)} ${one[2].toFixed(1)}`).join("L");
  const [, x, y] = come.at(-1);
  return [node("path", { d: `M${line}`, class: "mark" }), node("circle", { cx: x, cy: y, r: 9, class: "spot" })];
}
function dayNumber(iso) { return (Date.parse(iso) - Date.parse(run.dates[0])) / 86400000; }
function tellWalk() {
  const own = run.towns[state.town].walks, form = document.getElementById("walk");
  form.replaceChildren(...own.map((one, k) => html("button", { type: "button", "data-walk": k, "aria-pressed": String(k === state.walk) },
    `Drop ${k + 1}: ${one.uses ? `used ${frame.classes[Math.min(one.uses, 5)]}` : "never used"}`)),
    html("button", { type: "button", "data-walk": -1, hidden: state.walk < 0 }, "Hide the drop"));
  const walk = own[state.walk], words = document.getElementById("walk-words"), list = document.getElementById("walk-lines");
  if (!walk) {
    words.textContent = own.length ? `Choose a drop that ${townLabel(state.town)} takes in on the first day. Chance draws its way; those that go far are shown. One drop proves nothing.` : "No water is taken in on the first day.";
    list.replaceChildren();
    return;
  }
  const today = run.dates[state.day];
  let here = -1;
  walk.lines.forEach(([date], k) => { if (date <= today) here = k; });
  const told = (line) => (state.units === "metric" && line[2]) || line[1];
  words.textContent = `Move the day to follow it. By ${dateWords(today)}: the drop ${told(walk.lines[Math.max(here, 0)])}.`;
  list.replaceChildren(...walk.lines.map((line, k) => html("li", { "aria-current": k === here ? "step" : null }, `${dateWords(line[0])}: ${told(line)}`)));
}
