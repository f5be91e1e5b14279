// The page: what is chosen, and what changes with it.
const frame = JSON.parse(document.getElementById("frame").textContent);
const live = document.body.dataset.live;
const state = { town: "", day: 0, gate: frame.gate, units: frame.system, setting: frame.dials.map(() => 0), walk: -1, step: 0, plan: "", held: null };
let run = null, asked = 0;
const byId = (id) => document.getElementById(id);

async function turn() {
  const mine = asked += 1;
  const before = run?.dates[state.day], main = document.querySelector("main");
  main.setAttribute("aria-busy", "true");
  try {
    const found = await withWait(runOf(state.setting, state.gate, state.plan));
    if (mine !== asked) return;
    run = found;
    trouble("");
  } catch (error) {
    if (mine === asked) main.setAttribute("aria-busy", "false");
    if (mine === asked) trouble(error instanceof TypeError ? "The numbers could not be read. Use a browser of 2023 or later, or ask whether the server still runs." : error.message);
    return;
  }
  const last = run.dates.length - 1;
  byId("day").max = last;
  state.day = before && run.dates.includes(before) ? run.dates.indexOf(before) : run.glass[state.gate]?.[state.town]?.most_used ?? 0;
  byId("day").value = state.day;
  followDay();
  draw();
  main.setAttribute("aria-busy", "false");
}
// A drop that is followed is where it is on the day.
function followDay() {
  const walk = walkShown();
  if (walk) state.step = stepOn(walk, run.dates[state.day]);
}
function trouble(words) { byId("trouble").textContent = words; byId("trouble").hidden = !words; }
function settingWords(setting) {
  const told = frame.dials.map((dial, k) => setting[k] ? `${dial.label}: ${dial.positions[setting[k]].label}` : "").filter(Boolean);
  return told.length ? told.join("; ") : "the scenario as it is";
}
function draw() {
  if (!run.glass[state.gate]) { trouble("Nothing in this scenario counts as that use."); return; }
  trouble("");
  const glass = run.glass[state.gate][state.town], row = glass.layers[state.day], words = glassWords(row, run.dates[state.day]);
  tell("day-words", dateWords(run.dates[state.day]));
  byId("day").setAttribute("aria-valuetext", dateWords(run.dates[state.day]));
  tell("glass-words", words);
  tell("meaning", `Over the whole season it was ${percent(glass.season_used)}; the season's water had passed ${frame.gates[state.gate].often} ${figures(glass.mean_uses)} times on average. The layers are mixed in truth and drawn apart to show their shares.`);
  tell("ran", `${dateWords(frame.season[0])} to ${dateWords(frame.season[1])}. Shown: ${state.plan ? "a plan that was opened" : settingWords(state.setting)}.`);
  tellBecause();
  drawGlass("glass-picture", row, `A glass with layers. ${words}`);
  drawSeason(); drawLoop(); drawMap(); drawYears(); tellWalk(); tellAccount(); tellPair();
  for (const one of document.querySelectorAll("details.data[open]")) fillData(one);
}
function glassWords(row, date) {
  const use = frame.gates[state.gate], town = townLabel(state.town);
  if (row[0] === null) return `No tap water reached the homes of ${town} on ${dateWords(date)}.`;
  const layers = layersOf(row).filter((one) => one.use > 0), used = sum(row.slice(1, -1)) / SHARES, unknown = row.at(-1) / SHARES;
  const by = layers.length > 1 ? `: ${joined(layers.map((one) => `${percent(one.share)} ${frame.classes[one.use]}`))}` : "";
  const past = unknown > 0.0005 ? ` The past of ${percent(unknown)} is not known.` : "";
  return `On ${dateWords(date)}, ${percent(used)} of ${whose(state.town)} tap water had been ${use.through} before${by}.${past}`;
}
// Why: who used the water last, how it came back, and what for.
const PARTS_OF = {
  used_in: [() => `It was ${frame.last[state.gate] ?? "last used in"}`, { "above the map": "places above the map", "not known": "nobody knows where" }],
  way: [() => "It came", null],
  used_for: [() => state.gate === "wastewater-plant" ? "It left the plant as" : "It was last used for",
    { "above the map": "something above the map", "not known": "nobody knows what", outfall: "treated wastewater, by the outfall", reclaimed: "reclaimed water" }] };
function tellBecause() {
  const found = run.because[state.gate], place = byId("because"), own = found.towns[state.town];
  if (!own || own.used_in[state.day][0] === null) return place.replaceChildren();
  const lines = Object.entries(PARTS_OF).map(([dim, [words, plain]]) => {
    const named = (name) => (plain ?? frame.ways)[name] ?? townLabel(name).replaceAll("_", " ");
    const parts = own[dim][state.day].map((part, k) => [part / SHARES, found.names[dim][k]]).filter(([part]) => part > 0.0005).sort((a, b) => b[0] - a[0]);
    const told = parts.slice(0, 5).map(([part, name]) => `${named(name)} ${percent(part)}`);
    const rest = sum(parts.slice(5).map(([part]) => part));
    return told.length ? `${words()}: ${[...told, ...(rest > 0.0005 ? [`others ${percent(rest)}`] : [])].join("; ")}.` : "";
  }).filter(Boolean);
  place.replaceChildren(...(lines.length ? [html("h3", {}, "Because"), html("ul", {}, ...lines.map((one) => html("li", {}, one))), html("p", { class: "quiet" }, "Shares of the whole glass; each list adds up to what was used before.")] : []));
}
function table(caption, heads, rows) {
  return html("div", { class: "scroll", tabindex: 0, role: "region", "aria-label": caption }, html("table", {}, html("caption", {}, caption),
    html("thead", {}, html("tr", {}, ...heads.map((one) => html("th", { scope: "col" }, one)))),
    html("tbody", {}, ...rows.map((row) => html("tr", {}, ...row.map((one, k) => html(k ? "td" : "th", k ? {} : { scope: "row" }, String(one ?? ""))))))));
}
// Rows behind each picture, in the held units: what the CSV file has is what the table shows.
function dataOf(name) {
  const own = run.towns[state.town], glass = run.glass[state.gate][state.town], label = townLabel(state.town);
  const share = (value) => value === null ? "" : (value / SHARES).toFixed(4);
  const layers = [...frame.classes, "past unknown"];
  if (name === "glass" || name === "season") return { caption: `Shares of the tap water in ${label}${name === "glass" ? ` on ${dateWords(run.dates[state.day])}` : ", day by day"}, and water asked for and missing [m3/day]`,
    heads: ["date", ...layers, "asked for", "missing"], rows: (name === "glass" ? [state.day] : run.dates.map((_, k) => k))
      .map((k) => [run.dates[k], ...glass.layers[k].map(share), own.asked[k], own.short[k]]) };
  if (name === "loop") return { caption: `Flows of ${label} [m3/day]`, heads: ["from", "to", run.dates[state.day], "season's mean"],
    rows: own.loop.flows.map((one) => [partName(one.from), partName(one.to), one.rate[state.day], one.mean]) };
  if (name === "map") return { caption: `Rivers on ${dateWords(run.dates[state.day])}`, heads: ["place", "flow [m3/day]", "used before", "mean stay [days]"],
    rows: frame.river.map((one, k) => [one.label[state.units], run.river.rate[k][state.day], share(run.river.used[state.gate][k][state.day]), run.river.stay[k]]) };
  if (!own.capacity) return { caption: "No numbers", heads: ["plant"], rows: [] };
  return { caption: `Flow of each year in ${label} [m3/day]`, heads: ["year", ...own.capacity.plants.flatMap((one) => [one.name, "low", "high", "limit"])],
    rows: own.capacity.plants[0].flow.map((_, k) => [own.capacity.first_year + k, ...own.capacity.plants.flatMap((one) => [one.flow[k], one.low[k], one.high[k], one.limit])]) };
}
function fillData(details) {
  const { caption, heads, rows } = dataOf(details.dataset.of);
  const button = html("button", { type: "button" }, "Save as CSV");
  button.addEventListener("click", () => save(`${details.dataset.of}.csv`, [heads, ...rows].map((row) => row.map(csvCell).join(",")).join("\r\n") + "\r\n", "text/csv"));
  details.replaceChildren(details.firstElementChild, button, table(caption, heads, rows));
}
// A text that a spreadsheet would take for a formula begins with an apostrophe, as in the tables of a run.
function csvCell(value) {
  const isFormula = typeof value === "string" && /^\s*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]/.test(value);
  const text = (isFormula ? "'" : "") + String(value ?? "");
  return /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
function save(name, text, kind) {
  const link = html("a", { href: URL.createObjectURL(new Blob([text], { type: `${kind};charset=utf-8` })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
}
function tellAccount() {
  const found = run.account, whole = found.rows.at(-1);
  const largest = Math.max(whole[1], whole[2]), unit = unitFor("volume", largest);
  const [came, went, more] = addingUp(whole.slice(1, 4), unit, largest).map((one) => `${one.replace("-", "")} ${unit.name}`);
  tell("account-words", `Over the season ${came} came in and ${went} went out; what is stored ${whole[3] < 0 ? "fell" : "rose"} by ${more}. The account closes: the largest gap of any part is ${found.gap === 0 ? "nothing" : found.gap < 1e-9 ? "less than a billionth" : found.gap.toExponential(0)} of the water that went through it.`);
  byId("account-table").replaceChildren(table(`Water balance of each place [${unit.name}]`, ["place", ...found.terms],
    found.rows.map(([place, came, went, change, gap]) => {
      // A gap is told as it is.
      const shown = gap * unit.factor;
      return [place.replace(/^./, (first) => first.toUpperCase()), ...addingUp([came, went, change], unit, largest), Math.abs(shown) < 1e-9 ? "0" : shown.toExponential(0)];
    })));
}
// ---- two settings ------------------------------------------------------------------------
function headline(one) {
  const glass = one.glass[state.gate][state.town], own = one.towns[state.town];
  const least = own.capacity?.plants[0];
  return [["Used before, whole season", glass.season_used, percent],
    ["Mean earlier uses", glass.mean_uses, figures],
    ["Days on which all was delivered", own.reliability, percent],
    ["Water missing", sum(Object.values(own.unmet)), "volume"],
    ["Busiest day, water plant", least?.flow[0] ?? null, "flow"],
    ["Most that supply can give", least?.limit ?? null, "flow"]];
}
async function tellPair() {
  const held = state.held, body = byId("pair-body");
  if (!held) return;
  const mine = asked, same = held.plan === state.plan && String(held.setting) === String(state.setting);
  const words = `Held: ${held.plan ? "an opened plan" : settingWords(held.setting)}. Now: ${state.plan ? "an opened plan" : settingWords(state.setting)}.`;
  tell("pair-words", same ? `${words} They are the same: turn a dial.` : words);
  let before;
  try { before = await runOf(held.setting, state.gate, held.plan); } catch (error) { trouble(error.message); return; }
  if (mine !== asked) return;
  const [first, second] = [headline(before), headline(run)];
  body.replaceChildren(html("div", { class: "pairs" }, html("div", { class: "picture", id: "pair-one" }), html("div", { class: "picture", id: "pair-two" })),
    table(`${townLabel(state.town)}, two settings`, ["what", "held", "now", "change"], first.map(([name, value, kind], k) => {
      const other = second[k][1], change = value === null || other === null ? null : other - value;
      const unit = typeof kind === "string" && unitFor(kind, Math.max(value, other));
      const show = unit ? (one) => one === null ? "unknown" : threeFigures(one * unit.factor) : kind;
      return [unit ? `${name} [${unit.name}]` : name, show(value), show(other), change === null ? "" : Math.abs(change) < 1e-12 ? "none" : `${change > 0 ? "+" : "−"}${show(Math.abs(change)).replace("%", "points")}`];
    })), html("div", { id: "pair-why" }));
  const glasses = [["pair-one", "Held", before, first], ["pair-two", "Now", run, second]];
  for (const [place, name, one, told] of glasses) drawGlass(place, one.glass[state.gate][state.town].season, `${name}: ${percent(told[0][1])} used before over the season`, name);
  if (!same && !held.plan && !state.plan) await tellWhy(held.setting, mine);
}
// What each dial adds: its effect averaged over every order in which the dials can be turned.
// Every step on the way is a run of its own.
async function contributions(from, to, valueOf) {
  const turned = from.map((_, k) => k).filter((k) => from[k] !== to[k]), count = turned.length;
  const at = (chosen) => from.map((place, k) => { const bit = turned.indexOf(k); return bit >= 0 && chosen >> bit & 1 ? to[k] : place; });
  const values = [];
  for (let chosen = 0; chosen < 2 ** count; chosen += 1) values.push(valueOf(await runOf(at(chosen), state.gate)));
  const factorial = (n) => n < 2 ? 1 : n * factorial(n - 1);
  return turned.map((dial, bit) => {
    let total = 0;
    for (let chosen = 0; chosen < 2 ** count; chosen += 1) {
      if (chosen >> bit & 1) continue;
      const size = chosen.toString(2).replaceAll("0", "").length;
      total += factorial(size) * factorial(count - size - 1) / factorial(count) * (values[chosen | 1 << bit] - values[chosen]);
    }
    return [dial, total];
  });
}
async function tellWhy(from, mine) {
  const place = byId("pair-why");
  const told = await withWait(contributions(from, state.setting, (one) => one.glass[state.gate][state.town].season_used));
  if (mine !== asked || !place.isConnected) return;
  const total = sum(told.map(([, part]) => part));
  const points = (value) => `${value < 0 ? "−" : "+"}${(100 * Math.abs(value)).toFixed(2)} points`;
  place.replaceChildren(html("h3", {}, "Why the used share differs"), html("p", {}, told.length
    ? `The used share of the season changes by ${points(total)}. ${joined(told.map(([dial, part]) => `${frame.dials[dial].label} adds ${points(part)}`))}.${told.length > 1 ? " Each is the mean over every order in which the dials can be turned. Every step was run." : ""}` : ""));
}
// ---- controls ----------------------------------------------------------------------------
function showDials() {
  byId("dials").replaceChildren(...frame.dials.map((dial, k) => html("fieldset", {}, html("legend", {}, dial.label), html("p", {}, dial.about),
    html("div", { class: "choices" }, ...dial.positions.map((one, at) => html("label", {}, html("input", { type: "radio", name: dial.name, value: at, checked: state.setting[k] === at && !state.plan }), one.label))))));
}
function begin() {
  byId("town").replaceChildren(...frame.towns.map((one) => html("option", { value: one.name }, one.label)));
  byId("gate").replaceChildren(...Object.entries(frame.gates).map(([name, use]) => html("option", { value: name }, use.within)));
  state.town = frame.first_town || frame.towns[0].name;
  byId("town").value = state.town; byId("gate").value = state.gate; byId("units").value = state.units;
  byId("runs-words").textContent = live
    ? "Every setting is a run of the model on this server, made when it is asked for. Of a long season some days are shown; all were run."
    : `${frame.runs.count} runs of the model stand in this file, one for each setting of the dials, made with hydroloop ${frame.version}. Nothing between them is guessed. ${frame.runs.every > 1 ? `Each was run day by day; the page shows one day in ${frame.runs.every}, and the day of the most used glass of each town.` : "The page shows every day."}`;
  showDials();
  for (const one of document.querySelectorAll("header p, li")) one.replaceChildren(...[...one.childNodes].map((part) => part.nodeType === 3 ? tied(part.data) : part));
  for (const id of ["bar", "dials", "walk"]) byId(id).addEventListener("submit", (event) => event.preventDefault());
  byId("town").addEventListener("change", (event) => { state.town = event.target.value; state.walk = -1; draw(); });
  byId("day").addEventListener("input", (event) => { state.day = Number(event.target.value); followDay(); draw(); });
  byId("gate").addEventListener("change", (event) => { state.gate = event.target.value; turn(); });
  byId("units").addEventListener("change", (event) => { state.units = event.target.value; draw(); });
  byId("theme").addEventListener("change", (event) => { document.documentElement.dataset.theme = event.target.value; });
  byId("dials").addEventListener("change", (event) => {
    const k = frame.dials.findIndex((dial) => dial.name === event.target.name);
    state.setting = state.setting.with ? state.setting.with(k, Number(event.target.value)) : state.setting.map((one, at) => at === k ? Number(event.target.value) : one);
    state.plan = "";
    turn();
  });
  byId("walk").addEventListener("click", (event) => {
    const { walk, step } = event.target.dataset;
    if (walk) {
      state.walk = Number(walk);
      if (walkShown()) goTo(0);
      else { drawMap(); tellWalk(); }
    } else if (step) goTo({ first: 0, back: state.step - 1, next: state.step + 1 }[step]);
  });
  byId("reset").addEventListener("click", () => { state.setting = frame.dials.map(() => 0); state.plan = ""; state.gate = frame.gate; byId("gate").value = state.gate; showDials(); turn(); });
  byId("most").addEventListener("click", () => { state.day = run.glass[state.gate][state.town].most_used; byId("day").value = state.day; followDay(); draw(); });
  byId("hold").addEventListener("click", () => { state.held = { setting: state.setting, plan: state.plan }; tellPair(); });
  byId("save-plan").addEventListener("click", () => {
    const text = state.plan || planText(state.setting);
    if (text.includes("[[step]]")) save("plan.toml", text, "text/plain");
    else trouble("Nothing is changed yet: turn a dial, then save.");
  });
  byId("open-plan").addEventListener("change", async (event) => {
    const file = event.target.files[0];
    event.target.value = "";
    if (!file) return;
    if (file.size > 100000) { trouble("This file is too large for a plan."); return; }
    const text = await file.text(), found = settingOf(text);
    if (found) { state.setting = found.setting; state.plan = ""; state.gate = found.gate || frame.gate; byId("gate").value = state.gate; }
    else if (live) state.plan = text;
    else { trouble("This plan changes what no dial of this page does. Run it: hydroloop run SCENARIO --plan FILE."); return; }
    showDials();
    turn();
  });
  let wide = innerWidth;
  addEventListener("resize", () => { if (innerWidth !== wide) { wide = innerWidth; if (run) draw(); } });
  matchMedia("print").addEventListener("change", (event) => { isPrinting = event.matches; if (run) draw(); });
  for (const one of document.querySelectorAll("details.data")) one.addEventListener("toggle", () => one.open && run && fillData(one));
  turn();
}
begin();
