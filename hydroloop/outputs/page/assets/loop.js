// The loop: a town's parts and the water between them, on the day that the slider shows.
// Two layouts: for a screen and for a narrow one. Places are in pixels; the narrow one is drawn as wide as there is room.
const SCREEN = { wide: 1090, high: 620, half: [68, 24], ground: [644, 261, 44], thickest: 30, rivers: [[70, 70, 60, 490]],
  parts: { treatment: [300, 110], tanks: [480, 110], mains: [650, 110], yards: [880, 60], homes: [880, 190], workplaces: [880, 300],
    sewers: [650, 430], wastewater: [420, 430], reclaimed: [440, 280] },
  names: { intake: [10, 40], outfall: [10, 590], transit: [1080, 590, "end"], land: [766, 530], solids: [420, 508, "middle"],
    air: [1078, 32, "end"], bought: [486, 16], wells: [310, 30] },
  ways: {
    "river>treatment": [100, 110, 300, 110], "ground>treatment": [300, 20, 300, 110], "import>treatment": [240, 20, 240, 110, 300, 110],
    "import>tanks": [480, 20, 480, 110], "import>mains": [650, 20, 650, 110], "ground>tanks": [480, 20, 480, 110],
    "treatment>tanks": [300, 110, 480, 110], "tanks>mains": [480, 110, 650, 110],
    "mains>yards": [650, 96, 770, 96, 770, 60, 880, 60], "mains>homes": [650, 110, 750, 110, 750, 190, 880, 190],
    "mains>workplaces": [650, 122, 724, 122, 724, 300, 880, 300], "mains>ground": [640, 110, 640, 245],
    "homes>sewers": [880, 190, 985, 190, 985, 440, 650, 440], "workplaces>sewers": [880, 300, 880, 412, 650, 412],
    "ground>sewers": [660, 275, 660, 430], "land>sewers": [760, 520, 680, 520, 680, 430],
    "treatment>sewers": [350, 110, 350, 350, 590, 350, 590, 430], "sewers>wastewater": [650, 430, 420, 430],
    "wastewater>river": [420, 430, 100, 430], "wastewater>reclaimed": [440, 430, 440, 280],
    "reclaimed>treatment": [440, 280, 260, 280, 260, 110], "reclaimed>yards": [440, 265, 560, 265, 560, 40, 880, 40],
    "reclaimed>ground": [440, 290, 620, 290, 620, 262], "reclaimed>river": [440, 300, 100, 300],
    "sewers>river": [640, 430, 640, 505, 100, 505], "land>river": [760, 540, 100, 540],
    "yards>sky": [880, 60, 1070, 60], "wastewater>solids": [420, 430, 420, 490],
    "homes>ground": [880, 205, 700, 205, 700, 262, 660, 262] } };
const NARROW = { wide: 352, high: 656, half: [48, 24], ground: [288, 480, 36], thickest: 16, rivers: [[0, 28, 352, 24], [0, 578, 352, 24]],
  parts: { treatment: [48, 120], tanks: [168, 120], mains: [288, 120], reclaimed: [48, 250], yards: [168, 250], homes: [168, 360],
    workplaces: [288, 360], wastewater: [48, 480], sewers: [168, 480] },
  names: { intake: [0, 18], outfall: [0, 622], transit: [0, 646], land: [350, 538, "end"], solids: [84, 546, "middle"],
    air: [168, 186, "middle"], bought: [156, 78], wells: [80, 78] },
  ways: {
    "river>treatment": [48, 52, 48, 120], "ground>treatment": [76, 66, 76, 120], "import>treatment": [22, 66, 22, 120],
    "import>tanks": [150, 66, 150, 120], "import>mains": [288, 66, 288, 120], "ground>tanks": [190, 66, 190, 120],
    "treatment>tanks": [48, 120, 168, 120], "tanks>mains": [168, 120, 288, 120],
    "mains>yards": [262, 120, 262, 250, 168, 250], "mains>homes": [280, 120, 280, 308, 168, 308, 168, 360],
    "mains>workplaces": [304, 120, 304, 360], "mains>ground": [288, 120, 342, 120, 342, 480, 288, 480],
    "homes>sewers": [168, 360, 168, 480], "workplaces>sewers": [288, 360, 288, 425, 190, 425, 190, 480],
    "ground>sewers": [288, 488, 168, 488], "land>sewers": [300, 548, 190, 548, 190, 480],
    "treatment>sewers": [70, 120, 70, 172, 108, 172, 108, 430, 146, 430, 146, 480], "sewers>wastewater": [168, 480, 48, 480],
    "wastewater>river": [48, 480, 48, 578], "wastewater>reclaimed": [34, 480, 34, 250],
    "reclaimed>treatment": [34, 250, 34, 120], "reclaimed>yards": [48, 250, 168, 250],
    "reclaimed>ground": [76, 250, 76, 320, 228, 320, 228, 514, 280, 514, 280, 496], "reclaimed>river": [48, 250, 7, 250, 7, 578],
    "sewers>river": [150, 480, 150, 578], "land>river": [320, 548, 320, 578],
    "yards>sky": [168, 250, 168, 194], "wastewater>solids": [84, 480, 84, 530],
    "homes>ground": [200, 360, 200, 396, 228, 396, 228, 472, 288, 472] } };
const WATERS = { "river>treatment": "river", "ground>treatment": "ground", "mains>ground": "ground", "homes>sewers": "sewage",
  "workplaces>sewers": "sewage", "ground>sewers": "ground", "land>sewers": "storm", "treatment>sewers": "sewage", "sewers>wastewater": "sewage",
  "wastewater>river": "effluent", "sewers>river": "sewage", "land>river": "storm", "yards>sky": "air", "wastewater>solids": "ground",
  "homes>ground": "sewage", "ground>tanks": "ground", "wastewater>reclaimed": "reclaimed" };
const PART_NAMES = { treatment: "Water plant", tanks: "Tanks", mains: "Mains", yards: "Yards", homes: "Homes", workplaces: "Workplaces",
  sewers: "Sewers", wastewater: "Wastewater", reclaimed: "Reclaimed" };
const ENDS = { sky: "the air", solids: "sludge", land: "the land", rain: "rain", ground: "the ground", river: "the river", import: "bought water" };
function partName(name) {
  return { wastewater: "wastewater plant", reclaimed: "reclaimed water" }[name] || PART_NAMES[name]?.toLowerCase() || ENDS[name] || name;
}
function waterOf(name) { return WATERS[name] || (name.startsWith("reclaimed") ? "reclaimed" : "tap"); }

// The layout for so much room.
function loopLayout(room) {
  if (room >= 900) return { ...SCREEN, size: 14, at: (x) => x * room / SCREEN.wide, room };
  return { ...NARROW, size: room < 560 ? 12 : 14, at: (x) => x * room / NARROW.wide, room };
}
// Left, top, right and bottom of all that is drawn of a part, of the ground or of the river.
function boxesOf(layout, name) {
  const around = ([x, y], wide, high) => [[layout.at(x) - wide, y - high, layout.at(x) + wide, y + high]];
  if (name === "river") return layout.rivers.map(([x, y, wide, high]) => [layout.at(x), y, layout.at(x + wide), y + high]);
  if (name === "ground") return around(layout.ground, layout.ground[2], 16);
  return layout.parts[name] ? around(layout.parts[name], Math.min(SCREEN.half[0], layout.at(layout.half[0])), layout.half[1]) : [];
}
function cornersOf(layout, name) {
  const way = layout.ways[name];
  return Array.from({ length: way.length / 2 }, (_, k) => [layout.at(way[2 * k]), way[2 * k + 1]]);
}
// The corners of a way up to where it comes into one of some boxes.
function upTo(boxes, corners) {
  for (const [left, top, right, bottom] of boxes) {
    const last = corners.findIndex(([x, y], k) => k > 0 && x >= left && x <= right && y >= top && y <= bottom);
    if (last < 0) continue;
    const [x, y] = corners[last - 1];
    return [...corners.slice(0, last), [Math.min(right, Math.max(left, x)), Math.min(bottom, Math.max(top, y))]];
  }
  return corners;
}
// A band that ends in a head a little wider than it is: its line, and the corners of the head, the tip second.
function arrowOf(corners, wide) {
  const [a, tip] = corners.slice(-2), long = Math.hypot(tip[0] - a[0], tip[1] - a[1]), along = [(tip[0] - a[0]) / long, (tip[1] - a[1]) / long];
  const deep = Math.min(long, 6 + wide / 4), half = wide / 2 + 3.5, at = (back, aside) => [tip[0] - back * along[0] - aside * along[1], tip[1] - back * along[1] + aside * along[0]];
  return { shaft: [...corners.slice(0, -1), at(deep - 1, 0)], points: [at(deep, half), tip, at(deep, -half)] };
}
function drawLoop() {
  const town = frame.towns.find((one) => one.name === state.town), found = run.towns[state.town].loop;
  const layout = loopLayout(roomOf("loop-picture", SCREEN.wide)), taken = new Taken();
  const most = Math.max(...found.flows.filter((one) => layout.ways[`${one.from}>${one.to}`] && one.from !== "land").flatMap((one) => one.rate));
  const unit = unitFor("flow", most), small = layout.size === 12 ? { class: "small" } : {};
  const shown = found.flows.map((one) => [`${one.from}>${one.to}`, one.rate[state.day]]).filter(([name, rate]) => layout.ways[name] && rate > most * 0.002);
  const drawn = new Set(shown.map(([name]) => name));
  const boxes = loopBoxes(layout, found, taken), names = loopNames(layout, town, drawn, taken, small);
  const bands = [], legs = [];
  for (const [name, rate] of shown) {
    const [from, to] = name.split(">").map((end) => boxesOf(layout, end));
    const corners = upTo(to, cornersOf(layout, name)), wide = Math.max(2, Math.min(layout.thickest, layout.thickest * rate / most));
    const { shaft, points } = arrowOf(corners, wide), path = { d: `M${shaft.map((one) => one.join(" ")).join("L")}`, fill: "none", "stroke-linejoin": "round" };
    const colour = frame.colours.waters[waterOf(name)];
    bands.push(node("path", { ...path, stroke: "#27404f", "stroke-width": wide + 2 }),
      node("path", { d: `M${points.map((one) => one.join(" ")).join("L")}Z`, fill: colour, stroke: "#27404f", "stroke-linejoin": "round", class: "head" }),
      node("path", { ...path, stroke: colour, "stroke-width": wide }));
    taken.line({ a: points[0], b: points[2], wide: 2 }); // the widest part of the head
    const seen = upTo(from, [...corners].reverse()).reverse(), own = seen.slice(1).map((end, k) => ({ a: seen[k], b: end, wide }));
    for (const leg of own) taken.line(leg);
    legs.push([own, figures(rate * unit.factor)]);
  }
  const labels = legs.map(([own, words]) => flowNumber(taken, own, words, layout, small)).filter(Boolean);
  const rivers = boxesOf(layout, "river").map(([x, y, right, bottom]) => node("rect", { x, y, width: right - x, height: bottom - y, fill: frame.colours.waters.river, stroke: "#27404f" }));
  const told = shown.filter(([, rate]) => rate > 0.02 * most).sort((a, b) => b[1] - a[1]).slice(0, 6)
    .map(([name, rate]) => `${quantity(rate, "flow", most)} from ${partName(name.split(">")[0])} to ${partName(name.split(">")[1])}`);
  const words = `${town.label}, ${run.towns[state.town].people.toLocaleString("en-US")} people, on ${dateWords(run.dates[state.day])}: ${joined(told)}.`;
  tell("loop-words", `${words} Numbers are in ${unit.name}${unit.name.startsWith("Mgal") ? " (million gallons a day)" : ""}, bands to scale. The time in a box is how long water stays there on average (volume over flow). ${transitWords()}`);
  picture("loop-picture", layout.room, layout.high, words, [...bands, ...rivers, ...boxes, ...labels, ...names]);
}
function loopBoxes(layout, found, taken) {
  const size = layout.size === 12 ? " small" : "";
  const boxed = (name) => boxesOf(layout, name).map(([left, top, right, bottom]) => {
    taken.box(left, top, right - left, bottom - top);
    return node("rect", { x: left, y: top, width: right - left, height: bottom - top, rx: 8, class: "part" });
  });
  const made = Object.entries(layout.parts).filter(([name]) => found.flows.some((one) => one.from === name || one.to === name)).flatMap(([name, [x, y]]) => [...boxed(name),
    write(layout.at(x), y - 4, PART_NAMES[name], { "text-anchor": "middle", class: `strong${size}` }),
    write(layout.at(x), y + 15, timeWords(found.stay[name]), { "text-anchor": "middle", class: size.trim() })]);
  const [x, y] = layout.ground;
  return [...made, ...boxed("ground"), write(layout.at(x), y + 5, "ground", { "text-anchor": "middle", class: size.trim() })];
}
function loopNames(layout, town, drawn, taken, small) {
  const shows = (...ways) => ways.some((way) => drawn.has(way)), own = run.towns[state.town].transit.own;
  const told = [["intake", storeLabel(town.intake) || "no intake"], ["outfall", storeLabel(town.outfall) || "no outfall"]];
  if (own[1] !== null) told.push(["transit", `Intake to outfall: about ${timeWords(own[1])}${own[2] === null ? "" : ` (${shortTime(own[0])} to ${shortTime(own[2])})`}`]);
  if (shows("land>sewers", "land>river")) told.push(["land", "rain from the land"]);
  if (shows("wastewater>solids")) told.push(["solids", "sludge"]);
  if (shows("yards>sky")) told.push(["air", "to the air"]);
  if (shows("import>tanks", "import>mains", "import>treatment")) told.push(["bought", "bought"]);
  if (shows("ground>treatment", "ground>tanks")) told.push(["wells", "wells"]);
  return told.map(([name, words]) => {
    const [x, y, anchor] = layout.names[name];
    taken.words(layout.at(x), y, words, anchor, layout.size);
    return write(layout.at(x), y, words, { ...small, ...(anchor ? { "text-anchor": anchor } : {}), ...(name === "transit" ? { class: `strong ${small.class ?? ""}` } : {}) });
  });
}
// The number of a flow stands by its longest leg where there is room, else by another; the table has all.
function flowNumber(taken, legs, words, { size, room }, small) {
  const long = ({ a, b }) => Math.abs(a[0] - b[0]) + Math.abs(a[1] - b[1]);
  const spots = [...legs].sort((one, other) => long(other) - long(one)).flatMap(({ a, b, wide }) => [0.5, 0.55, 0.45, 0.3, 0.7, 0.15, 0.85].flatMap((share) => {
    const x = a[0] + share * (b[0] - a[0]), y = a[1] + share * (b[1] - a[1]), off = wide / 2 + 5;
    return a[1] === b[1] ? [[x, y - off, "middle"], [x, y + off + size - 3, "middle"], [x, y - 29, "middle"], [x, y + 29 + size, "middle"]]
      : [[x + off, y + 5, "start"], [x - off, y + 5, "end"]];
  }));
  const spot = taken.free(spots, words, size, false, { room });
  return spot && write(spot[0], spot[1], words, { "text-anchor": spot[2], ...small });
}
function storeLabel(store) { return frame.river.find((one) => one.store === store)?.label[state.units] ?? ""; }
function rangeWords([low, middle, high]) { return `about ${timeWords(middle)}${high === null ? "" : ` (${timeWords(low)} to ${timeWords(high)})`}`; }
// How long water is under way: the middle drop, and the range of eight tenths of them.
function transitWords() {
  const own = run.towns[state.town].transit, town = townLabel(state.town);
  const said = own.own[1] === null ? [] : [`From intake to outfall, water is in ${town} for ${rangeWords(own.own)}.`];
  for (const [name, time] of Object.entries(own.taps)) if (time[1] !== null) said.push(`From there to a tap in ${townLabel(name)} takes ${rangeWords(time)}.`);
  return said.length ? `${said.join(" ")} Half of the water is faster than the first time; eight tenths of it lie in the range. Ways through the ground take years and are left out.` : "";
}
