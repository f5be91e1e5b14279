// Pictures as SVG, made of elements and texts, never of markup.
const SVG = "http://www.w3.org/2000/svg";

function node(name, attributes = {}, ...inside) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...inside.map(tied));
  return made;
}
function html(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null) made.setAttribute(key, value);
  }
  made.append(...inside.map(tied));
  return made;
}
function write(x, y, words, more = {}) { return node("text", { x, y, ...more }, words); }
function picture(place, wide, high, alternative, parts) {
  const drawn = node("svg", { viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": alternative }, ...parts);
  document.getElementById(place)?.replaceChildren(drawn);
  return drawn;
}
// Pictures are drawn as wide as there is room for them, so that their words keep their size; on paper 680 pixels, a glass 330.
let isPrinting = matchMedia("print").matches;
const pen = document.createElement("canvas").getContext("2d");
function wordsWide(words, size = 14, isStrong = false) {
  pen.font = `${isStrong ? "bold " : ""}${size}px system-ui, sans-serif`;
  return pen.measureText(words).width;
}
function roomOf(place, most, onPaper = 680) { return Math.max(280, Math.min(most, isPrinting ? onPaper : Math.floor(document.getElementById(place).getBoundingClientRect().width) || most)); }
// What is taken in a picture: boxes, lines and words, so that further words find a free spot or are left to the table.
class Taken {
  boxes = [];
  box(x, y, wide, high) { this.boxes.push([x, y, x + wide, y + high]); }
  line({ a, b, wide }) { this.box(Math.min(a[0], b[0]) - wide / 2, Math.min(a[1], b[1]) - wide / 2, Math.abs(a[0] - b[0]) + wide, Math.abs(a[1] - b[1]) + wide); }
  words(x, y, words, anchor = "start", size = 14, isStrong = false) {
    const wide = wordsWide(words, size, isStrong), left = x - { start: 0, middle: wide / 2, end: wide }[anchor];
    const own = [left - 2, y - size + 1, left + wide + 2, y + 4];
    this.boxes.push(own);
    return own;
  }
  // The first spot whose words touch nothing and stay inside; undefined if there is none.
  free(spots, words, size, isStrong = false, { room = Infinity, total = Infinity } = {}) {
    return spots.find(([x, y, anchor]) => {
      const own = this.words(x, y, words, anchor, size, isStrong);
      const isFree = own[0] >= -2 && own[1] >= 0 && own[2] <= room + 2 && own[3] <= total
        && this.boxes.slice(0, -1).every((one) => own[2] <= one[0] || own[0] >= one[2] || own[3] <= one[1] || own[1] >= one[3]);
      if (!isFree) this.boxes.pop();
      return isFree;
    });
  }
}
function shadeOf(share, most) {
  const shades = frame.colours.shades;
  return shades[Math.round(Math.min(1, Math.max(0, share / most)) * (shades.length - 1))];
}
function inkOf(fill) {
  const at = frame.colours.uses.indexOf(fill);
  return at >= 0 && frame.colours.ink[at] === "#ffffff" ? "white" : "dark";
}
// Layers of a glass: share, words, fill; thin ones together.
function layersOf(row) {
  const found = [];
  row.slice(0, -1).forEach((part, use) => {
    if (part / SHARES > 0.0005) found.push({ share: part / SHARES, use, fill: frame.colours.uses[use],
      words: use ? `used ${frame.classes[use]}` : `never ${frame.gates[state.gate].within}`, short: use ? frame.classes[use] : "never" });
  });
  const unknown = row.at(-1) / SHARES;
  if (unknown > 0.0005) found.push({ share: unknown, fill: frame.colours.unknown, words: "past unknown", short: "unknown", use: -1 });
  return found;
}
// One of two glasses has a name; one above the other they are half as high, so that both are seen. On paper each is lower.
function drawGlass(place, row, alternative, name = "") {
  const most = isPrinting ? 280 : name && innerWidth <= 736 ? 200 : 400;
  const room = roomOf(place, 430, 330), [left, wide, top, high] = [6, Math.max(60, Math.min(190, Math.round(room * 0.42), room - 218)), 20, most];
  const total = high + (name ? 56 : 40), named = name ? [write(left + wide / 2, total - 8, name, { "text-anchor": "middle", class: "strong" })] : [];
  if (row[0] === null) return picture(place, room, total, alternative, [write(left + 20, high / 2, "no tap water"), ...named]);
  const parts = [], beside = [], end = left + wide + 4;
  let low = top + high;
  for (const layer of layersOf(row)) {
    const thick = layer.share * high, words = [layer.words, layer.short].map((one) => `${one} ${percent(layer.share)}`);
    low -= thick;
    parts.push(node("rect", { x: left, y: low, width: wide, height: Math.max(thick, 0.5), fill: layer.fill, stroke: "#27404f" }));
    const inside = thick > 22 && words.find((one) => wordsWide(one, 14, true) < wide - 10);
    if (inside) parts.push(write(left + wide / 2, low + thick / 2 + 5, inside, { "text-anchor": "middle", class: `strong ${inkOf(layer.fill)}` }));
    else beside.push({ words: words.find((one) => wordsWide(one) < room - end - 28) ?? words[1], at: low + thick / 2 });
  }
  parts.push(node("path", { d: `M${left - 4} ${top - 14}V${top + high + 6}H${end}V${top - 14}`, class: "edge", "stroke-width": 4 }));
  let last = top + high + 22;
  beside.forEach((one, k) => {
    // Above it there is room left for the words that follow.
    const y = Math.max(Math.min(one.at + 5, last - 20), 16 + 20 * (beside.length - 1 - k));
    parts.push(node("path", { d: `M${end} ${one.at}L${end + 20} ${y - 5}`, class: "edge" }), write(end + 24, y, one.words));
    last = y;
  });
  return picture(place, room, total, alternative, [...parts, ...named]);
}
function axis(values, height) {
  const most = Math.max(...values, 1e-9);
  const ten = 10 ** Math.floor(Math.log10(most));
  const step = [0.2, 0.5, 1, 2].map((one) => one * ten).find((one) => most / one <= 5.01);
  const top = Math.ceil(most / step - 1e-9) * step;
  const ticks = Array.from({ length: Math.round(top / step) + 1 }, (_, k) => k * step);
  return { top, ticks, at: (value) => height * (1 - value / top) };
}
function drawSeason() {
  const town = state.town, glass = run.glass[state.gate][town], dates = run.dates;
  const room = roomOf("season-picture", 1090), [left, top, wide, high] = [64, 32, room - 84, 220];
  const used = glass.layers.map((row) => row[0] === null ? null : sum(row.slice(1, -1)) / SHARES);
  const scale = axis([0.01, ...used.filter((one) => one !== null)], high);
  const at = (k) => left + wide * (dates.length < 2 ? 0 : k / (dates.length - 1));
  const parts = [];
  for (const tick of scale.ticks) {
    const y = top + scale.at(tick);
    parts.push(node("path", { d: `M${left} ${y}H${left + wide}`, class: "still" }), write(left - 8, y + 5, `${threeFigures(100 * tick)} %`, { "text-anchor": "end" }));
  }
  const classes = glass.layers[0].length - 2;
  for (let use = classes; use >= 1; use -= 1) {
    // What has been used so often or less, so that the layers lie one on the other.
    const upper = glass.layers.map((row) => row[0] === null ? 0 : sum(row.slice(1, use + 1)) / SHARES);
    const line = upper.map((value, k) => `${at(k).toFixed(1)} ${(top + scale.at(value)).toFixed(1)}`);
    parts.push(node("path", { d: `M${left} ${top + high}L${line.join("L")}L${left + wide} ${top + high}Z`, fill: frame.colours.uses[use], stroke: "#27404f", "stroke-width": 0.6 }));
  }
  const taken = new Taken(), isMonthly = new Set(dates.map((one) => one.slice(0, 7))).size <= 14;
  dates.forEach((date, k) => {
    if (k === 0 || date.slice(0, 7) === dates[k - 1].slice(0, 7)) return;
    const [year, month] = date.split("-").map(Number);
    if (!isMonthly && month !== 1) return;
    const words = isMonthly ? MONTHS[month - 1].slice(0, 3) : year;
    parts.push(node("path", { d: `M${at(k)} ${top + high}v6`, class: "edge" }));
    if (taken.free([[at(k), top + high + 22, "middle"]], words, 14, false, { room })) parts.push(write(at(k), top + high + 22, words, { "text-anchor": "middle" }));
  });
  parts.push(node("path", { d: `M${left} ${top + high}H${left + wide}`, class: "edge" }));
  const own = run.towns[town], most = Math.max(...own.short);
  if (most > 0) {
    own.short.forEach((value, k) => value > 0 && parts.push(node("rect", { x: at(k) - 2, width: 4, y: 280, height: Math.max(2, 34 * value / most), class: "spot" })));
    parts.push(write(left - 8, 300, "missing", { "text-anchor": "end" }));
  }
  parts.push(node("path", { d: `M${at(state.day)} ${top - 10}V${most > 0 ? 318 : top + high}`, class: "now" }));
  const days = shortDate(dates[state.day]), title = "Used before", half = wordsWide(days) / 2;
  parts.push(write(left - 58, 14, title, { class: "strong" }));
  const middle = Math.min(room - half, Math.max(left - 46 + wordsWide(title, 14, true) + half, at(state.day)));
  parts.push(write(middle, 14, days, { "text-anchor": "middle" }));
  const peak = used.reduce((best, one, k) => (one ?? -1) > (used[best] ?? -1) ? k : best, 0);
  const words = `Used before at the tap in ${townLabel(town)}: most on ${dateWords(dates[peak])}, ${percent(used[peak])}; over the season ${percent(glass.season_used)}. ` + shortWords(own);
  tell("season-words", `${words} Deeper colours were used more often. The upright line is the day shown.`);
  picture("season-picture", room, most > 0 ? 324 : 282, words, parts);
}
function shortWords(own) {
  const missing = sum(Object.values(own.unmet));
  if (!(missing > 0)) return "Nobody ran short.";
  const told = Object.entries(own.unmet).filter(([, value]) => value > 0)
    .map(([name, value]) => `${name} ${quantity(value, "volume")}`);
  return `Water was missing: ${joined(told)}; the longest time in a row was ${timeWords(own.longest_failure)}.`;
}
function drawYears() {
  const found = run.towns[state.town].capacity, parts = [], said = [];
  if (!found) {
    tell("years-words", "The plants of this town cannot be held against its demand in this run.");
    document.getElementById("years-picture").replaceChildren();
    return;
  }
  const room = roomOf("years-picture", 1090), isPaired = room >= 640, each = isPaired ? room / 2 : room;
  found.plants.forEach((plant, k) => {
    const [left, top, wide, high] = [64 + (isPaired ? each * k : 0), 40 + (isPaired ? 0 : 290 * k), each - 92, 210];
    const values = [...plant.high, 1.15 * (plant.limit ?? 0)], years = plant.flow.length;
    const unit = unitFor("flow", Math.max(...values)), shown = axis(values.map((one) => one * unit.factor), high);
    const scale = { at: (value) => shown.at(value * unit.factor) };
    const at = (year) => left + wide * year / Math.max(1, years - 1);
    const line = (values) => values.map((value, year) => `${at(year).toFixed(1)} ${(top + scale.at(value)).toFixed(1)}`);
    const title = `${plant.name} [${unit.name}]`;
    parts.push(write(left - 58, top - 20, title, { class: wordsWide(title, 14, true) < each - 12 ? "strong" : "strong small" }));
    for (const tick of shown.ticks) {
      const y = top + shown.at(tick);
      parts.push(node("path", { d: `M${left} ${y}h${wide}`, class: "still" }), write(left - 6, y + 5, threeFigures(tick), { "text-anchor": "end" }));
    }
    const taken = new Taken(), tens = Array.from({ length: years }, (_, year) => year).filter((year) => (found.first_year + year) % 10 === 0 || (found.first_year + year) % 5 === 0 && wide > 400);
    for (const year of [0, years - 1, ...tens]) {
      const spot = taken.free([[at(year), top + high + 22, "middle"]], String(found.first_year + year), 14);
      if (spot) parts.push(node("path", { d: `M${at(year)} ${top + high}v6`, class: "edge" }), write(spot[0], spot[1], found.first_year + year, { "text-anchor": "middle" }));
    }
    parts.push(node("path", { d: `M${line(plant.low).join("L")}L${line(plant.high).reverse().join("L")}Z`, class: "band" }),
      node("path", { d: `M${line(plant.flow).join("L")}`, class: "edge", "stroke-width": 3 }));
    if (plant.limit !== null) {
      const y = top + scale.at(plant.limit), near = new Taken(), spots = [[left + 6, y - 7, "start"], [left + wide, y + 18, "end"], [left + 6, y + 18, "start"], [left + wide, y - 7, "end"]];
      plant.flow.forEach((value, year) => near.line({ a: [at(year), top + scale.at(value)], b: [at(Math.min(year + 1, years - 1)), top + scale.at(plant.flow[Math.min(year + 1, years - 1)])], wide: 4 }));
      const [x, by, anchor] = near.free(spots, plant.what, 14) ?? spots[0];
      parts.push(node("path", { d: `M${left} ${y}h${wide}`, class: "mark", "stroke-dasharray": "8 5" }), write(x, by, plant.what, { "text-anchor": anchor }));
      said.push(`${plant.name}: ${quantity(plant.flow[0], "flow")} is asked of it now. Its first limit is ${plant.what}, ${quantity(plant.limit, "flow")}: ${plant.years === null ? `enough until ${found.first_year + years - 1}` : plant.years === 0 ? "too small already" : `too small from about ${found.first_year + Math.ceil(plant.years)}`}.`);
    }
  });
  const last = found.first_year + found.plants[0].flow.length - 1;
  for (const plant of found.plants) {
    const bought = plant.bought.map(([words, years]) => `${words} ${years === null ? `(limit not reached by ${last})` : figures(years)}`);
    if (bought.length) said.push(`Years that each remedy buys ${plant.whose}: ${bought.join("; ")}.`);
  }
  said.push("The line is what is asked, the broken line the first limit.");
  if (found.assumed) said.push("Sizes of the plant are assumed, not given: no verdict on a real plant.");
  const words = said.join(" ");
  tell("years-words", words);
  picture("years-picture", room, isPaired ? 280 : 570, words, parts);
}
