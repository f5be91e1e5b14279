// Pictures as SVG, made of elements and texts, never of markup.
const SVG = "http://www.w3.org/2000/svg";

function node(name, attributes = {}, ...inside) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...inside);
  return made;
}
function html(name, attributes = {}, ...inside) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null) made.setAttribute(key, value);
  }
  made.append(...inside);
  return made;
}
function write(x, y, words, more = {}) { return node("text", { x, y, ...more }, words); }
function picture(place, wide, high, alternative, parts) {
  const drawn = node("svg", { viewBox: `0 0 ${wide} ${high}`, role: "img", "aria-label": alternative }, ...parts);
  document.getElementById(place)?.replaceChildren(drawn);
  return drawn;
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
      words: use ? `used ${frame.classes[use]}` : `never ${frame.gates[state.gate].within}` });
  });
  const unknown = row.at(-1) / SHARES;
  if (unknown > 0.0005) found.push({ share: unknown, fill: frame.colours.unknown, words: "past unknown", use: -1 });
  return found;
}
function drawGlass(place, row, alternative) {
  const [left, wide, top, high] = [10, 190, 20, 400];
  const parts = [];
  if (row[0] === null) {
    parts.push(write(left + 20, 200, "no tap water"));
    return picture(place, 430, 440, alternative, parts);
  }
  let low = top + high;
  const beside = [];
  for (const layer of layersOf(row)) {
    const thick = layer.share * high;
    low -= thick;
    parts.push(node("rect", { x: left, y: low, width: wide, height: Math.max(thick, 0.5), fill: layer.fill, class: "edge-fill", stroke: "#27404f" }));
    const words = `${layer.words} ${percent(layer.share)}`;
    if (thick > 22 && words.length < 25) parts.push(write(left + wide / 2, low + thick / 2 + 5, words,
      { "text-anchor": "middle", class: `strong ${inkOf(layer.fill)}` }));
    else beside.push({ words, at: low + thick / 2 });
  }
  parts.push(node("path", { d: `M${left - 4} ${top - 14}V${top + high + 6}H${left + wide + 4}V${top - 14}`, class: "edge", "stroke-width": 4 }));
  let last = top + high + 22;
  beside.forEach((one, k) => {
    // Above it there is room left for the words that follow.
    const y = Math.max(Math.min(one.at + 5, last - 20), 16 + 20 * (beside.length - 1 - k));
    parts.push(node("path", { d: `M${left + wide + 4} ${one.at}L${left + wide + 24} ${y - 5}`, class: "edge" }),
      write(left + wide + 28, y, one.words));
    last = y;
  });
  return picture(place, 430, 440, alternative, parts);
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
  const [left, top, wide, high] = [70, 14, 900, 220];
  const used = glass.layers.map((row) => row[0] === null ? null : sum(row.slice(1, -1)) / SHARES);
  const scale = axis(used.filter((one) => one !== null), high);
  const at = (k) => left + wide * (dates.length < 2 ? 0 : k / (dates.length - 1));
  const parts = [];
  for (const tick of scale.ticks) {
    const y = top + scale.at(tick);
    parts.push(node("path", { d: `M${left} ${y}H${left + wide}`, class: "still" }), write(left - 8, y + 5, percent(tick), { "text-anchor": "end" }));
  }
  const classes = glass.layers[0].length - 2;
  for (let use = classes; use >= 1; use -= 1) {
    // What has been used so often or less, so that the layers lie one on the other.
    const upper = glass.layers.map((row) => row[0] === null ? 0 : sum(row.slice(1, use + 1)) / SHARES);
    const line = upper.map((value, k) => `${at(k).toFixed(1)} ${(top + scale.at(value)).toFixed(1)}`);
    parts.push(node("path", { d: `M${left} ${top + high}L${line.join("L")}L${left + wide} ${top + high}Z`, fill: frame.colours.uses[use], stroke: "#27404f", "stroke-width": 0.6 }));
  }
  dates.forEach((date, k) => {
    if (k === 0 || date.slice(0, 7) === dates[k - 1].slice(0, 7)) return;
    const [year, month] = date.split("-").map(Number);
    const monthly = dates.length && new Set(dates.map((one) => one.slice(0, 7))).size <= 14;
    if (!monthly && month !== 1) return;
    parts.push(node("path", { d: `M${at(k)} ${top + high}v6`, class: "edge" }),
      write(at(k), top + high + 22, monthly ? MONTHS[month - 1].slice(0, 3) : year, { "text-anchor": "middle" }));
  });
  parts.push(node("path", { d: `M${left} ${top + high}H${left + wide}`, class: "edge" }));
  const own = run.towns[town], most = Math.max(...own.short);
  if (most > 0) {
    own.short.forEach((value, k) => value > 0 && parts.push(node("rect", { x: at(k) - 2, width: 4, y: 262, height: Math.max(2, 34 * value / most), class: "spot" })));
    parts.push(write(left - 8, 282, "missing", { "text-anchor": "end" }));
  }
  parts.push(node("path", { d: `M${at(state.day)} ${top}V${most > 0 ? 300 : top + high}`, class: "now" }));
  const peak = used.reduce((best, one, k) => (one ?? -1) > (used[best] ?? -1) ? k : best, 0);
  const words = `Used before at the tap in ${townLabel(town)}: most on ${dateWords(dates[peak])}, ${percent(used[peak])}; over the season ${percent(sum(glass.season.slice(1, -1)) / SHARES)}. ` + shortWords(own);
  document.getElementById("season-words").textContent = `${words} Deeper colours were used more often.`;
  picture("season-picture", 1000, most > 0 ? 306 : 264, words, parts);
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
    document.getElementById("years-words").textContent = "The plants of this town cannot be held against its demand in this run.";
    document.getElementById("years-picture").replaceChildren();
    return;
  }
  found.plants.forEach((plant, k) => {
    const [left, top, wide, high] = [75 + 490 * k, 40, 370, 210];
    const values = [...plant.high, plant.limit ?? 0], years = plant.flow.length;
    const unit = unitFor("flow", Math.max(...values)), shown = axis(values.map((one) => one * unit.factor), high);
    const scale = { at: (value) => shown.at(value * unit.factor) };
    const at = (year) => left + wide * year / Math.max(1, years - 1);
    const line = (values) => values.map((value, year) => `${at(year).toFixed(1)} ${(top + scale.at(value)).toFixed(1)}`);
    parts.push(write(left, 20, `${plant.name} [${unit.name}]`, { class: "strong" }));
    for (const tick of shown.ticks) {
      const y = top + shown.at(tick);
      parts.push(node("path", { d: `M${left} ${y}h${wide}`, class: "still" }), write(left - 6, y + 5, threeFigures(tick), { "text-anchor": "end" }));
    }
    for (const year of [0, years - 1]) parts.push(write(at(year), top + high + 20, found.first_year + year, { "text-anchor": "middle" }));
    parts.push(node("path", { d: `M${line(plant.low).join("L")}L${line(plant.high).reverse().join("L")}Z`, class: "band" }),
      node("path", { d: `M${line(plant.flow).join("L")}`, class: "edge", "stroke-width": 3 }));
    if (plant.limit !== null) {
      const y = top + scale.at(plant.limit);
      parts.push(node("path", { d: `M${left} ${y}h${wide}`, class: "mark", "stroke-dasharray": "8 5" }),
        write(left + 6, y > top + 24 ? y - 7 : y + 18, plant.what.replace(/^(plant|wastewater): /, "")));
      said.push(`${plant.name}: ${quantity(plant.flow[0], "flow")} now against ${quantity(plant.limit, "flow")} (${plant.what}), ${plant.years === null ? `not reached by ${found.first_year + years - 1}` : plant.years === 0 ? "reached already" : `reached in about ${Math.ceil(plant.years)} years`}.`);
    }
  });
  const bought = found.bought.filter(([, years]) => years).map(([words, years]) => `${words}, ${figures(years)} years`);
  if (bought.length) said.push(`What would buy time: ${bought.join("; ")}.`);
  if (found.assumed) said.push("Sizes of the plant are assumed, not given: no verdict on a real plant.");
  const words = said.join(" ");
  document.getElementById("years-words").textContent = words;
  picture("years-picture", 960, 280, words, parts);
}
