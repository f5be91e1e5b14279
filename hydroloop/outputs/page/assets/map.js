// The map: rivers, towns at them, and a drop on its way. Along is down the river: to the right on a screen, down the page where it is narrow.
function mapPlaces() {
  const room = roomOf("map-picture", 1090), longest = Math.max(...frame.river.map(({ row }) => frame.river.filter((one) => one.row === row).length)), isTall = room < Math.min(900, 75 * longest), size = room < 560 ? 12 : 14;
  const rows = Math.max(...frame.river.map((one) => one.row)) + 1, lines = townLines(), high = 14 + 18 * Math.max(...Object.values(lines).map((one) => one.length));
  const half = 10 + Math.max(...Object.entries(lines).flatMap(([, told]) => told.map((words, k) => wordsWide(words, size, !k)))) / 2;
  const plan = { room, isTall, size, rows, lines, half, high, towns: new Map(), stores: new Map(), taken: new Taken(), at: (along, across) => isTall ? [across, along] : [along, across] };
  const own = (row) => frame.towns.filter((town) => rowOf(town) === row);
  if (isTall) layDown(plan, own);
  else layAcross(plan, own);
  return plan;
}
function rowOf(town) {
  const found = [town.outfall, town.intake].map((store) => frame.river.find((one) => one.store === store)).find(Boolean);
  return found ? found.row : -1;
}
// What stands in a town's box: its name, its tap, how long water is in it, and how soon water of the chosen town is here.
function townLines() {
  const reached = run.towns[state.town].transit.taps;
  return Object.fromEntries(frame.towns.map((town) => {
    const row = run.glass[state.gate][town.name].layers[state.day], share = row[0] === null ? null : sum(row.slice(1, -1)) / SHARES;
    const own = run.towns[town.name].transit.own[1], time = reached[town.name]?.[1] ?? null;
    return [town.name, [town.label, share === null ? "no tap water" : `tap: ${percent(share)} used`, ...(own === null ? [] : [`in town ${timeWords(own)}`]), ...(time === null ? [] : [`reached in ${timeWords(time)}`])]];
  }));
}
function span() { return [Math.min(...frame.river.map((one) => one.x)), Math.max(...frame.river.map((one) => one.x + one.wide))]; }
function putStores(plan, along, across) {
  for (const one of frame.river) plan.stores.set(one.store, { ...one, a: along(one.x), b: along(one.x + one.wide), c: across(one.row) });
}
function middleOf(plan, town) {
  const ends = [plan.stores.get(town.intake), plan.stores.get(town.outfall)], known = ends.filter(Boolean);
  return { ends, middle: sum(known.map((one) => (one.a + one.b) / 2)) / known.length };
}
// Rivers across, towns above them in as many levels as they need.
function layAcross(plan, own) {
  const [left, right] = span(), across = [];
  putStores(plan, (x) => 20 + (plan.room - 60) * (x - left) / (right - left), () => 0);
  let low = 40;
  for (let row = 0; row < plan.rows; row += 1) {
    const levels = [];
    const placed = own(row).map((town) => {
      const { ends, middle } = middleOf(plan, town), x = Math.min(plan.room - plan.half - 2, Math.max(plan.half + 2, middle));
      let level = levels.findIndex((end) => x - plan.half > end + 8);
      if (level < 0) level = levels.push(0) - 1;
      levels[level] = x + plan.half;
      return { ...town, ends, x, level };
    });
    across[row] = low + levels.length * (plan.high + 14) + 34;
    for (const town of placed) plan.towns.set(town.name, { ...town, y: across[row] - 34 - plan.high / 2 - town.level * (plan.high + 14) });
    low = across[row] + 100;
  }
  for (const store of plan.stores.values()) store.c = across[store.row];
  plan.total = low + 6;
}
// Rivers down the page, the towns of the first on its left, all others on the right.
function layDown(plan, own) {
  const [left, right] = span(), wide = 2 * plan.half, most = Math.max(...[0, 1].map((side) => frame.towns.filter((town) => side ? rowOf(town) > 0 : rowOf(town) === 0).length));
  const long = Math.max(380, 26 * frame.river.filter((one) => one.row === 0).length, most * (plan.high + 22));
  const inset = Math.max(0, (plan.room - 540) / 2), stem = inset + wide + 40;
  const gap = plan.rows > 1 ? Math.min(90, (plan.room - 2 * inset - 2 * wide - 66) / (plan.rows - 1)) : 0;
  putStores(plan, (x) => 74 + long * (x - left) / (right - left), (row) => stem + gap * row);
  let low = 74 + long;
  for (const isRight of [false, true]) {
    let free = 60;
    const placed = frame.towns.filter((town) => isRight ? rowOf(town) > 0 : rowOf(town) === 0).map((town) => ({ ...town, ...middleOf(plan, town) })).sort((a, b) => a.middle - b.middle);
    for (const town of placed) {
      const y = Math.max(town.middle, free + plan.high / 2);
      free = y + plan.high / 2 + 10;
      plan.towns.set(town.name, { ...town, x: isRight ? plan.room - inset - plan.half - 2 : inset + plan.half + 2, y });
    }
    low = Math.max(low, free);
  }
  Object.assign(plan, { total: low + 16, inset });
}
// Corners of the line from the river to a town's box: of its intake (0) or its outfall (1).
function lead(plan, town, k) {
  const end = town.ends[k], along = end.a + (k ? 0.25 : 0.75) * (end.b - end.a);
  if (!plan.isTall) return [[along, end.c], [along, town.y + 14 - 12 * k], [town.x, town.y + 14 - 12 * k]];
  const side = town.x < end.c ? 1 : -1, edge = town.x + side * (plan.half + (k ? 8 : 16)), y = town.y + (k ? 12 : -12);
  return [[end.c, along], [edge, along], [edge, y], [town.x, y]];
}
function drawMap() {
  const plan = mapPlaces(), { taken, size, towns, stores } = plan, parts = [], day = state.day, small = size === 12 ? "small" : "";
  const used = run.river.used[state.gate], rate = run.river.rate, largest = Math.max(...rate.flat().filter((one) => one !== null));
  const most = Math.max(0.1, Math.ceil(20 * Math.max(...used.flat().filter((one) => one !== null)) / SHARES) / 20);
  const thick = (value) => Math.max(4, (plan.isTall ? 26 : 40) * Math.sqrt(value / largest)), said = [], labels = [], rivers = [];
  const say = (words, spots, style = "") => {
    const spot = taken.free(spots, words, size, style === "strong", plan);
    if (spot) labels.push(write(spot[0], spot[1], words, { "text-anchor": spot[2], class: `${style} ${small}` }));
  };
  for (const town of towns.values()) {
    taken.box(town.x - plan.half, town.y - plan.high / 2, 2 * plan.half, plan.high);
    for (const k of [0, 1]) if (town.ends[k]) {
      const corners = lead(plan, town, k);
      corners.slice(1).forEach((end, at) => taken.line({ a: corners[at], b: end, wide: 3 }));
      parts.push(node("path", { class: "edge", "stroke-dasharray": k ? "5 4" : "none", d: `M${corners.map((one) => one.join(" ")).join("L")}`, "stroke-width": 2.5 }));
    }
  }
  frame.river.forEach((one, k) => {
    const at = stores.get(one.store), isLake = one.role === "reservoir", wide = isLake ? 44 : thick(rate[k][day] ?? 0), share = used[k][day];
    const fill = share === null ? frame.colours.unknown : shadeOf(share / SHARES, most), goal = [...stores.values()].find((other) => other.row === 0).c;
    if (one.is_last && one.row > 0) {
      const way = [[at.b, at.c], [at.b + 12, at.c], [at.b + 12, goal]].map(([along, across]) => plan.at(along, across));
      rivers.unshift(node("path", { d: `M${way.map((spot) => spot.join(" ")).join("L")}`, fill: "none", stroke: fill, "stroke-width": wide }));
      taken.line({ a: way[1], b: way[2], wide });
    }
    const [[x, y], [far, deep]] = [plan.at(at.a, at.c - wide / 2), plan.at(at.b, at.c + wide / 2)];
    taken.box(x, y, far - x, deep - y);
    rivers.push(node("rect", { x, y, width: far - x, height: deep - y, rx: isLake ? 12 : 0, fill, stroke: "#27404f", "stroke-width": 0.8 },
      node("title", {}, `${one.label[state.units]}: ${quantity(rate[k][day], "river_flow")}, ${percent(share === null ? null : share / SHARES)} used before, stays ${timeWords(run.river.stay[k])}`)));
  });
  frame.river.forEach((one, k) => {
    if (one.role !== "reservoir") return;
    const at = stores.get(one.store), middle = (at.a + at.b) / 2, words = [one.label[state.units].replace(/^the /, ""), `stays ${timeWords(run.river.stay[k])}`];
    words.forEach((told, line) => say(told, plan.isTall ? [[at.c + 28, middle - size + (size + 4) * line, "start"], [at.c - 28, middle - size + (size + 4) * line, "end"]] : [[middle, at.c + 38 + 18 * line, "middle"]]));
  });
  for (let row = 0; row < plan.rows; row += 1) {
    const own = frame.river.map((one, k) => [one, k]).filter(([one]) => one.row === row), reaches = own.filter(([one]) => one.role !== "reservoir");
    const name = (reaches[0] ?? own[0])[0].river, last = own.at(-1), head = stores.get(own[0][0].store);
    const words = `${name}: ${timeWords(sum(own.map(([, k]) => run.river.stay[k] ?? 0)))} from head to end`;
    say(words, plan.isTall ? [[row ? plan.room - plan.inset : plan.inset, row ? Math.max(52, head.a - 12) : 34, row ? "end" : "start"], [plan.room, 52, "end"], [0, plan.total - 4, "start"]]
      : [[head.a, head.c + 76, "start"], [head.a, head.c + 94, "start"]], "strong");
    said.push(`${name} ends with ${quantity(rate[last[1]][day], "river_flow")}, ${percent((used[last[1]][day] ?? NaN) / SHARES)} of it used before`);
  }
  frame.river.forEach((one, k) => {
    const at = stores.get(one.store), middle = (at.a + at.b) / 2;
    if (one.role === "reservoir" || !(run.river.stay[k] > 0.002)) return;
    say(shortTime(run.river.stay[k]), plan.isTall ? [[at.c + 18, middle + 4, "start"], [at.c - 18, middle + 4, "end"]] : [[middle, at.c + 38, "middle"], [middle, at.c - 26, "middle"]]);
  });
  const taps = [], boxes = [];
  for (const town of towns.values()) {
    taps.push(`${town.label} ${plan.lines[town.name][1].replace(/^tap: | used$/g, "")}`);
    boxes.push(node("rect", { x: town.x - plan.half, y: town.y - plan.high / 2, width: 2 * plan.half, height: plan.high, rx: 8, class: town.name === state.town ? "part chosen" : "part" }),
      ...plan.lines[town.name].map((words, line) => write(town.x, town.y - plan.high / 2 + 20 + 18 * line, words, { "text-anchor": "middle", class: `${line ? "" : "strong"} ${small}` })));
  }
  const { trail, spot } = walkMarks(plan);
  const words = `On ${dateWords(run.dates[day])}: ${joined(said)}. Used before at the taps: ${joined(taps)}.`;
  const reach = Object.values(run.towns[state.town].transit.taps).some((time) => time[1] !== null) ? ` “Reached in”: from the outfall of ${townLabel(state.town)} to a tap there.` : "";
  tell("map-words", `${words} By the rivers: how long water stays in a stretch (h: hours, d: days).${reach} Whole lines lead from an intake, broken ones to an outfall. Four times the water is drawn twice as wide. Distances are not to scale.`);
  picture("map-picture", plan.room, plan.total, words, [...parts, ...rivers, ...trail, ...boxes, ...labels, ...spot, ...legend(plan.room, most, size, small)]);
}
function legend(room, most, size, small) {
  const words = "used before: 0 %", end = wordsWide(percent(most), size) + 10, wide = Math.min(200, room - end - wordsWide(words, size) - 16), left = room - end - wide;
  return [...Array.from({ length: 40 }, (_, k) => node("rect", { x: left + wide * k / 40, y: 4, width: wide / 40 + 0.5, height: 14, fill: frame.colours.shades[k] })),
    write(left - 8, 16, words, { "text-anchor": "end", class: small }), write(left + wide + 8, 16, percent(most), { class: small })];
}
function shortTime(days) { return timeWords(days).replace(/ hours?$/, " h").replace(/ days?$/, " d"); }
// Where a drop's way runs on the map: all of it thin, and up to the step shown thick; along the rivers, and by the lines of the towns.
function walkMarks(plan) {
  const walk = walkShown();
  if (!walk) return { trail: [], spot: [] };
  const whole = wayOf(plan, walk.path), line = wayOf(plan, walk.path.slice(0, walk.lines[state.step][3]));
  const d = (corners) => `M${corners.map((one) => one.map((value) => value.toFixed(1)).join(" ")).join("L")}`;
  if (!line.length) return { trail: [], spot: [] };
  const [cx, cy] = line.at(-1);
  return { trail: [node("path", { d: d(whole), class: "mark way" }), node("path", { d: d(line), class: "mark" })], spot: [node("circle", { cx, cy, r: 9, class: "spot" })] };
}
function wayOf(plan, stores) {
  const line = [];
  let before = null;
  for (const store of stores) {
    const river = plan.stores.get(store), town = plan.towns.get(store.split("/")[0]);
    if (river) {
      if (before?.ends && before.ends[1]?.store === store) line.push(...lead(plan, before, 1).reverse());
      line.push(plan.at((river.a + river.b) / 2, river.c));
      before = river;
    } else if (town && town !== before) {
      if (town.ends[0] && before && before.store === town.ends[0].store) line.push(...lead(plan, town, 0));
      line.push([town.x, town.y - plan.high / 2]);
      before = town;
    }
  }
  return line;
}
function walkShown() { return run.towns[state.town].walks[state.walk]; }
// The last step that a drop has made by a day.
function stepOn(walk, date) { return Math.max(0, walk.lines.findLastIndex((line) => line[0] <= date)); }
function tellWalk() {
  const own = run.towns[state.town].walks, form = document.getElementById("walk"), held = form.contains(document.activeElement) && { ...document.activeElement.dataset };
  const use = frame.gates[live ? state.gate : frame.gate], walk = walkShown(), last = walk ? walk.lines.length - 1 : 0;
  const step = (words, to, isOff) => html("button", { type: "button", "data-step": to, disabled: isOff }, words);
  form.replaceChildren(...own.map((one, k) => html("button", { type: "button", "data-walk": k, "aria-pressed": String(k === state.walk) },
    `Drop ${k + 1}: ${one.uses ? `${use.within} ${frame.classes[Math.min(one.uses, 5)]}` : `never ${use.within}`}`)),
  ...(walk ? [html("button", { type: "button", "data-walk": -1 }, "Hide the drop"),
    html("span", { class: "steps" }, step("To its first day", "first", state.step === 0), step("One step back", "back", state.step === 0), step("Next step", "next", state.step === last))] : []));
  if (held) (form.querySelector(Object.entries(held).map(([name, value]) => `[data-${name}="${value}"]:enabled`).join("")) || form.querySelector("[aria-pressed=true]") || form.querySelector("button"))?.focus();
  const list = document.getElementById("walk-lines");
  if (!walk) {
    tell("walk-words", own.length ? `Choose a drop that ${townLabel(state.town)} takes in on the first day. Chance draws its way; those that go far are shown. One drop proves nothing.` : "No water is taken in on the first day.");
    list.replaceChildren();
    return;
  }
  const told = (line) => (state.units === "metric" && line[2]) || line[1], [begin, end] = [walk.lines[0], walk.lines[last]], today = run.dates[state.day];
  const isPast = state.step === last && today > end[0];
  tell("walk-words", isPast ? `By ${dateWords(today)} this drop is gone: on ${dateWords(end[0])} it ${told(end)}. It came in on ${dateWords(begin[0])}. Choose “To its first day”, then step along.`
    : `Step ${state.step + 1} of ${last + 1}, ${dateWords(walk.lines[state.step][0])}: the drop ${told(walk.lines[state.step])}.${state.step === 0 ? ` Its way ends on ${dateWords(end[0])}. The day goes with the steps.` : ""}`);
  list.replaceChildren(...walk.lines.map((line, k) => html("li", { "aria-current": k === state.step ? "step" : null }, `${dateWords(line[0])}: ${told(line)}`)));
}
// To a step of the drop's way, and to the day shown that is the last before it.
function goTo(step) {
  state.step = step;
  state.day = Math.max(0, run.dates.findLastIndex((date) => date <= walkShown().lines[step][0]));
  byId("day").value = state.day;
  draw();
}
