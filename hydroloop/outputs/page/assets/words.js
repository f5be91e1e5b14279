// Numbers, dates and names as the page says them. Rounding is that of the program's own words.
const MONTHS = ["January", "February", "March", "April", "May", "June", "July", "August",
  "September", "October", "November", "December"];
const SHARES = 10000;

function percent(share) {
  if (share === null || !Number.isFinite(share)) return "an unknown share";
  const value = 100 * share;
  if (value <= 0) return "0 %";
  if (value < 0.05) return "less than 0.1 %";
  if (value >= 99.95 && value < 100) return "more than 99.9 %";
  if (value < 9.95 || (value >= 99.5 && value < 99.95)) return value.toFixed(1).replace(".0", "") + " %";
  return value.toFixed(0) + " %";
}
function dateWords(iso) {
  const [year, month, day] = iso.split("-").map(Number);
  return `${day} ${MONTHS[month - 1]} ${year}`;
}
function shortDate(iso) {
  const [, month, day] = iso.split("-").map(Number);
  return `${day} ${MONTHS[month - 1].slice(0, 3)}`;
}
function figures(value) {
  if (value === null) return "unknown";
  if (value === 0) return "0";
  const size = Math.abs(value);
  if (size >= 100) return Math.round(value).toLocaleString("en-US");
  const text = value.toFixed(Math.max(0, 1 - Math.floor(Math.log10(size))));
  return text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
}
function threeFigures(value) {
  return value === 0 ? "0" : Number(value.toPrecision(3)).toLocaleString("en-US", { maximumFractionDigits: 6 });
}
function unitFor(dimension, largest) {
  let found = frame.units[state.units][dimension][0];
  for (const one of frame.units[state.units][dimension]) if (Math.abs(largest) >= one.from) found = one;
  return { ...found, name: found.name.replace("m3", "m³").replace("ft3", "ft³") };
}
// In, out and change with as many decimals, four figures of the largest: as printed, in less out is the change.
function addingUp([came, went, change], unit, largest) {
  const decimals = Math.max(0, 3 - Math.max(0, Math.floor(Math.log10(largest * unit.factor))));
  const [first, last] = [came, change].map((one) => Number((one * unit.factor).toFixed(decimals)));
  return [first, Number((first - last).toFixed(decimals)), last].map((one) => (one || 0).toLocaleString("en-US", { minimumFractionDigits: decimals, maximumFractionDigits: decimals }));
}
function quantity(value, dimension, largest = value) {
  if (value === null) return "unknown";
  const unit = unitFor(dimension, largest);
  return `${threeFigures(value * unit.factor)} ${unit.name}`;
}
function timeWords(days) {
  if (days === null) return "an unknown time";
  const minutes = days * 1440;
  const [value, unit] = minutes < 2 ? [0, ""] : minutes < 100 ? [minutes, "min"]
    : days < 2 ? [days * 24, "hours"] : [days, "days"];
  return unit ? `${figures(value)} ${figures(value) === "1" ? unit.replace(/s$/, "") : unit}` : "under 2 min";
}
function joined(parts) {
  return parts.length < 2 ? parts.join("") : `${parts.slice(0, -1).join(", ")} and ${parts.at(-1)}`;
}
// Numbers stand on one line with their units, days with their months, and miles with their numbers.
const AFTER = /(\d) (?=%|°C|°F|points?\b|times\b|min\b|h\b|hours?\b|d\b|days?\b|miles?\b|years?\b|km\b|ft|gal\b|kgal|Mgal|m\b|m³|L\b|ML|GL|January|February|March|April|May|June|July|August|September|October|November|December)/g;
const BEFORE = /\b(mile|km|Drop|Step) (?=\d)/g;
function tied(words) { return typeof words === "string" ? words.replace(AFTER, "$1\u00a0").replace(BEFORE, "$1\u00a0") : words; }
function tell(id, words) { document.getElementById(id).textContent = tied(words); }
function townLabel(name) { return frame.towns.find((one) => one.name === name)?.label ?? name; }
function whose(name) { return frame.towns.find((one) => one.name === name).whose; }
function sum(values) { return values.reduce((total, one) => total + one, 0); }
