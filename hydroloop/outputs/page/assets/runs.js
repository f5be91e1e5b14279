// Where the numbers of a setting come from: this file, or the server that made the page.
const kept = new Map();

function placeOf(setting) {
  return frame.dials.reduce((place, dial, k) => place * dial.positions.length + setting[k], 0);
}
async function fromFile(setting) {
  const packed = packedRuns()[placeOf(setting)];
  const bytes = Uint8Array.from(atob(packed), (letter) => letter.charCodeAt(0));
  const stream = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("gzip"));
  return addedUp(JSON.parse(await new Response(stream).text()));
}
// The file has tables of whole numbers column by column, each as its difference from the one before.
function addedUp(values) {
  if (Array.isArray(values)) return values.map(addedUp);
  if (values === null || typeof values !== "object") return values;
  const steps = values["+"];
  if (!steps) return Object.fromEntries(Object.entries(values).map(([name, one]) => [name, addedUp(one)]));
  const sums = (column) => { let last = 0; return column.map((one) => one === null ? null : last += one); };
  if (!Array.isArray(steps[0])) return sums(steps);
  const columns = steps.map(sums);
  return columns[0].map((_, row) => columns.map((one) => one[row]));
}
let packedList = null;
function packedRuns() {
  packedList = packedList || JSON.parse(document.getElementById("runs").textContent);
  return packedList;
}
async function fromServer(setting, gate, plan) {
  const dials = Object.fromEntries(frame.dials.map((dial, k) => [dial.name, setting[k]]));
  const body = plan ? { plan, count_as: gate } : { dials, count_as: gate };
  const answer = await fetch(`/api/scenarios/${encodeURIComponent(live)}/run`, {
    method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
  const told = await answer.json();
  if (!answer.ok) throw new Error((told.problems || ["The server could not answer."]).join(" "));
  return told;
}
async function runOf(setting, gate, plan = "") {
  const key = JSON.stringify([setting, live ? gate : "", plan]);
  if (!kept.has(key)) {
    if (kept.size > 80) kept.delete(kept.keys().next().value);
    kept.set(key, live ? fromServer(setting, gate, plan) : fromFile(setting));
  }
  try {
    return await kept.get(key);
  } catch (error) {
    kept.delete(key);
    throw error;
  }
}
// While the server is at work: how many wait, and for about how long.
async function withWait(work) {
  if (!live) return work;
  const words = document.getElementById("waiting");
  let done = false;
  const ask = async () => {
    if (done) return;
    try {
      const told = await (await fetch("/api/queue")).json();
      if (!done) words.textContent = told.waiting > 0
        ? `The model is at work: ${told.waiting} runs wait, about ${Math.ceil(told.seconds)} s.`
        : "The model is at work.";
    } catch { /* the run itself will tell */ }
    if (!done) setTimeout(ask, 1000);
  };
  const begun = setTimeout(ask, 700);
  try { return await work; } finally { done = true; clearTimeout(begun); words.textContent = ""; }
}
function planText(setting) {
  const steps = frame.dials.map((dial, k) => dial.positions[setting[k]].steps).filter(Boolean);
  const use = state.gate === frame.gate ? ""
    : `[[step]]\nwhat = "What counts as a use: ${state.gate}"\nset = { "season.count_as" = "${state.gate}" }\n`;
  return [frame.plan_head, ...steps, use].filter(Boolean).join("\n");
}
// The setting that a plan file holds; null where it holds more than the dials can say.
function settingOf(text) {
  let rest = text.replaceAll("\r\n", "\n").replace(/^\[plan\]\n(?:[a-z]+ = .*\n)*/, "");
  const setting = frame.dials.map((dial) => {
    const at = dial.positions.findIndex((one) => one.steps && rest.includes(one.steps.trim()));
    if (at < 0) return 0;
    rest = rest.replace(dial.positions[at].steps.trim(), "");
    return at;
  });
  let gate = "";
  rest = rest.replace(/\[\[step\]\]\nwhat = "What counts as a use: [a-z-]+"\nset = \{ "season\.count_as" = "([a-z-]+)" \}/,
    (_, name) => { gate = name; return ""; });
  return rest.trim() ? null : { setting, gate };
}
