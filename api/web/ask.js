"use strict";

// Asks the question of the page's form and shows its reply: the text as headings, tables and lists,
// and the chart. Everything is put in as text, never as markup.

const form = document.getElementById("question");
const reply = document.getElementById("reply");
const button = form.querySelector("button");
const token = document.getElementById("token");
const status = document.getElementById("status");
const address = form.getAttribute("action");
const root = document.documentElement.dataset.root;
const forms = form.dataset.forms.split(" ");
let chartAddress = null;
let asked = 0;

function element(name, text, className) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = text;
  if (className) made.className = className;
  return made;
}

function questionAsQuery() {
  const query = new URLSearchParams();
  const told = new FormData(form);
  // One reading at mid-depth alone stands for all of the thickness.
  const alone = told.get("moisture.core")?.trim() && !told.get("moisture.shell").trim();
  for (const [name, value] of told) {
    if (name === "format" || value.trim() === "") continue;
    query.append(alone && name === "moisture.core" ? "moisture" : name, value.trim());
  }
  return query;
}

async function fetched(query, format) {
  const headers = token.value ? { Authorization: `Bearer ${token.value}` } : {};
  const response = await fetch(`${address}?${query}&format=${format}`, { headers });
  if (response.ok) return response;
  throw await response.json().catch(() => ({ title: `The service answered ${response.status}.` }));
}

// A table of the text reply: columns part where every line has two blanks or more.
function cellsOf(lines) {
  const width = Math.max(...lines.map((line) => line.length));
  const blank = (at) => lines.every((line) => (line[at] || " ") === " ");
  const cuts = [];
  for (let at = 3; at < width; at += 1) {
    if (blank(at - 2) && blank(at - 1) && !blank(at)) cuts.push(at);
  }
  const edges = [0, ...cuts, width];
  return lines.map((line) => edges.slice(1).map((end, i) => line.slice(edges[i], end).trim()));
}

// A figure stays on one line with its unit and its fraction, and so does a short range.
function unbroken(text) {
  const short = text.replace(/^(-?[\d.]{1,4}) to (-?[\d.]{1,4})$/, "$1\u00a0to\u00a0$2");
  return short.replace(/ (?=%|in\b|mm\b|days\b|\d+\/)/g, "\u00a0");
}

function table(title, lines) {
  const made = element("table");
  made.append(element("caption", title || "Figures"));
  const rows = cellsOf(lines);
  const body = element("tbody");
  rows.forEach((cells, place) => {
    const row = element("tr");
    const heads = place === 0 && cells[0] === "";
    cells.forEach((text, column) => {
      const cell = element(heads || column === 0 ? "th" : "td", unbroken(text));
      if (heads && text) cell.scope = "col";
      else if (!heads && column === 0) cell.scope = "row";
      row.append(cell);
    });
    if (heads) {
      const head = element("thead");
      head.append(row);
      made.append(head);
    } else body.append(row);
  });
  made.append(body);
  return made;
}

// Lines as the items of a list; a line that begins none goes on with the one before.
function items(kind, begins, lines) {
  const list = element(kind);
  for (const line of lines) {
    if (begins.test(line)) list.append(element("li", unbroken(line.replace(begins, ""))));
    else list.lastChild.textContent += ` ${line.trim()}`;
  }
  return list;
}

const bullets = (lines) => items("ul", /^- /, lines);
const numbered = (lines) => items("ol", /^\d+\. /, lines);

function folded(title, content) {
  const made = element("details");
  made.append(element("summary", title), content);
  return made;
}

function section(title, content, className) {
  const made = element("div", undefined, className);
  made.append(element("h3", title), content);
  return made;
}

const LESS = /detail=full/; // a line that says where the rest is; the page has a button for it

function shownBlock(block) {
  const lines = block.split("\n").filter((line) => !LESS.test(line));
  if (!lines.length) return "";
  const [first, ...rest] = lines;
  if (rest.length && rest[0].startsWith("- ")) {
    if (first === "Notes") return folded("What is assumed or weak", bullets(rest));
    return section(first, bullets(rest), first === "Take care" ? "care" : "");
  }
  if (rest.length && /^\d+\. /.test(rest[0])) return section(first, numbered(rest), "steps");
  if (first.startsWith("Leans on: ")) {
    return folded("Sources", element("p", lines.join(" ").replace("Leans on: ", "")));
  }
  const titled = first.startsWith("  ") ? "" : first;
  const rows = titled ? rest : lines;
  if (rows.length > 1 && rows.every((line) => line.startsWith("  "))) return table(titled, rows);
  return element("p", lines.join(" "));
}

// The paragraphs of a text: a place begins its own.
function blocksOf(text) {
  return text.trimEnd().replace(/\n(?=Place: )/, "\n\n").split(/\n{2,}/);
}

// A button that asks once more with everything that is known.
function more() {
  const made = element("button", "Show all figures, notes and sources", "plain");
  made.type = "button";
  made.addEventListener("click", () => {
    form.elements.namedItem("detail").checked = true;
    ask();
  });
  return made;
}

function links(query) {
  const made = element("p", "This answer as ", "elsewhere");
  for (const format of forms) {
    const link = element("a", format === "ics" ? "calendar (ics)" : format);
    link.href = `${address}?${query}&format=${format}`;
    made.append(link, " ");
  }
  return made;
}

function showAnswer(text, query) {
  const [decision, ...blocks] = blocksOf(text);
  const words = unbroken(decision.replaceAll("\n", " "));
  const stop = words.search(/\.\s/) + 1 || words.length;
  const lead = element("p", undefined, "decision");
  const verdict = element("strong", words.slice(0, stop));
  lead.append(verdict, words.slice(stop));
  status.textContent = `Answered. ${verdict.textContent}`; // all of it would be read out else
  const chart = element("figure");
  chart.tabIndex = 0; // on a phone it is wider than the page and scrolls
  chart.setAttribute("role", "region");
  chart.setAttribute("aria-label", "Chart");
  chart.append(element("p", "The chart is being drawn."));
  const head = element("h2", "Answer");
  head.tabIndex = -1; // who asked by keyboard reads on from here
  const shown = blocks.map(shownBlock).filter(Boolean);
  const after = shown.findIndex((one) => one.matches("table"));
  shown.splice(Math.max(after, 0), 0, chart);
  reply.replaceChildren(head, lead, ...shown);
  if (LESS.test(text)) reply.append(more());
  head.focus({ preventScroll: true });
  if (!token.value) reply.append(links(query)); // a plain link carries no token
  return chart;
}

// Title and description of a chart. They alone are parsed: the policy of this page would complain
// of the styles in the rest.
function wordsOf(drawn) {
  const [head] = drawn.match(/<title[^]*<\/desc>/) || [""];
  const told = new DOMParser().parseFromString(`<svg>${head}</svg>`, "text/xml");
  return [...told.querySelectorAll("title, desc")].map((each) => each.textContent).join(". ");
}

async function showChart(place, query, mine) {
  const drawn = await fetched(query, "svg").then((response) => response.text());
  if (mine !== asked) return;
  if (chartAddress) URL.revokeObjectURL(chartAddress);
  chartAddress = URL.createObjectURL(new Blob([drawn], { type: "image/svg+xml" }));
  const picture = element("img");
  picture.alt = wordsOf(drawn);
  picture.src = chartAddress;
  place.replaceChildren(picture);
}

function clearFaults() {
  for (const told of form.querySelectorAll(".fault")) told.remove();
  for (const field of form.querySelectorAll("[aria-invalid]")) {
    field.removeAttribute("aria-invalid");
    described(field, (id) => id !== `${field.id}-fault`);
  }
}

// What is read out with a field: its fault first, then its hint.
function described(field, kept, first) {
  const ids = (field.getAttribute("aria-describedby") || "").split(" ").filter(Boolean);
  const told = [first, ...ids.filter(kept)].filter(Boolean).join(" ");
  if (told) field.setAttribute("aria-describedby", told);
  else field.removeAttribute("aria-describedby");
}

// The field a fault belongs to: its own, the first of a larger part, or the one it is a part of.
function fieldOf(pointer) {
  const name = pointer.replace(/^\//, "").replaceAll("~1", "/").replaceAll("~0", "~");
  if (!name) return null;
  const named = [...form.elements].filter((field) => field.name && field.type !== "hidden");
  return (
    named.find((field) => field.name === name) ||
    named.find((field) => field.name.startsWith(`${name}.`)) ||
    (name === "moisture" ? named.find((field) => field.name === "moisture.core") : null) ||
    null
  );
}

function showProblem(problem) {
  const list = element("ul");
  const wrong = [];
  for (const fault of problem.errors || []) {
    const field = fieldOf(fault.pointer);
    if (field && !wrong.includes(field)) {
      const told = element("small", fault.detail, "fault");
      told.id = `${field.id}-fault`;
      field.setAttribute("aria-invalid", "true");
      described(field, () => true, told.id);
      field.after(told);
      wrong.push(field);
    } else list.append(element("li", `${fault.pointer} ${fault.detail}`.trim()));
  }
  const parts = [element("h2", "Not answered"), element("p", problem.title || "No answer.")];
  if (wrong.length) {
    const many = wrong.length > 1 ? `${wrong.length} fields need` : "One field needs";
    parts.push(element("p", `${many} a change; what and why stands under each.`));
  }
  if (!problem.errors && problem.detail) parts.push(element("p", problem.detail));
  if (list.children.length) parts.push(list);
  reply.replaceChildren(...parts);
  status.textContent = parts.map((part) => part.textContent).join(" ");
  let first = [...form.elements].find((field) => wrong.includes(field)); // the topmost
  if (problem.status === 401) {
    document.getElementById("token-entry").hidden = false;
    first = token;
  }
  if (first) first.focus();
}

// What was left empty is not printed.
function markEmpty() {
  for (const field of form.querySelectorAll(".entry :is(input, select)")) {
    field.closest(".entry").classList.toggle("empty", field.value.trim() === "");
  }
}

async function ask() {
  markEmpty();
  asked += 1;
  const mine = asked;
  const query = questionAsQuery();
  clearFaults();
  status.textContent = "Being worked out.";
  reply.setAttribute("aria-busy", "true");
  button.disabled = true;
  let chart = null;
  try {
    const text = await fetched(query, "text").then((response) => response.text());
    chart = showAnswer(text, query);
    history.replaceState(null, "", `?${query}`);
  } catch (problem) {
    const lost = problem instanceof TypeError;
    showProblem(lost ? { title: "The service cannot be reached. Ask again later." } : problem);
  }
  button.disabled = false;
  reply.setAttribute("aria-busy", "false");
  if (!chart) return;
  const { top } = reply.getBoundingClientRect();
  if (top < 0 || top > window.innerHeight * 0.6) reply.scrollIntoView();
  await showChart(chart, query, mine).catch(() => {
    chart.replaceChildren(element("p", "The chart could not be drawn."));
  });
}

// Names that begin as what is typed, from the catalogue of a field. A service that cannot be
// reached suggests nothing; the question itself will tell.
const HAND = 150; // ms; not at every letter of a fast hand
const named = {
  places: (found) => found.places.map((place) => [place.label, ""]),
  // A wood that is found by another of its names is offered by that name.
  species: (found, text) =>
    found.species.map((wood) => {
      const names = [wood.name, ...wood.other_names.split("; ")];
      const typed = text.toLowerCase();
      const holding = names.filter((name) => name.toLowerCase().includes(typed));
      const best = holding.find((name) => name.toLowerCase().startsWith(typed)) || holding[0];
      return [best || wood.name, best === wood.name ? wood.scientific_name : wood.name];
    }),
};
const typed = new WeakMap();

async function suggest(field) {
  const mine = (typed.get(field) || 0) + 1;
  typed.set(field, mine);
  const text = field.value.trim();
  if (text.length < 2) return;
  await new Promise((resume) => setTimeout(resume, HAND));
  if (mine !== typed.get(field)) return;
  const catalogue = field.dataset.names;
  const headers = token.value ? { Authorization: `Bearer ${token.value}` } : {};
  const query = new URLSearchParams({ q: text, limit: "8" });
  const found = await fetch(`${root}/v1/${catalogue}?${query}`, { headers })
    .then((response) => (response.ok ? response.json() : null))
    .catch(() => null);
  if (!found || mine !== typed.get(field)) return;
  const seen = new Set();
  const options = [];
  for (const [value, words] of named[catalogue](found, text)) {
    if (seen.has(value.toLowerCase())) continue;
    seen.add(value.toLowerCase());
    const option = element("option");
    option.value = value;
    if (words) option.label = `${value} (${words})`;
    options.push(option);
  }
  field.list.replaceChildren(...options);
}

for (const field of form.querySelectorAll("[data-names]")) {
  field.addEventListener("input", () => suggest(field));
}

// Another system of units: a bare figure keeps the unit it was written in, so none changes what it
// means.
const UNITS = { us: { length: "in", temperature: "F" }, metric: { length: "mm", temperature: "C" } };
let system = "us";

function switchUnits(chosen) {
  if (chosen === system) return;
  for (const field of form.querySelectorAll("[data-figure]")) {
    const bare = /^-?[\d ]*(\d\/|\.)?\d+$/.test(field.value.trim());
    if (bare) field.value = `${field.value.trim()} ${UNITS[system][field.dataset.figure]}`;
  }
  system = chosen;
  form.elements.namedItem("units").value = chosen;
}

for (const choice of form.querySelectorAll("[name=units]")) {
  choice.addEventListener("change", () => switchUnits(choice.value));
}

form.addEventListener("submit", (event) => {
  event.preventDefault();
  ask();
});

// An address that carries a question, kept or sent on, asks it again.
const kept = new URLSearchParams(window.location.search);
let known = 0;
if (kept.get("units") in UNITS) {
  system = kept.get("units");
  form.elements.namedItem("units").value = system;
} else if (!["en-US", "en-LR", "my"].includes(navigator.language)) {
  switchUnits("metric");
}
const fields = [...form.elements].filter((field) => field.name && field.type !== "hidden");
if ([...kept.keys()].some((name) => name.startsWith("slab."))) {
  // What an address leaves out was left out, whatever the form begins with.
  for (const field of fields) {
    if (!["radio", "checkbox"].includes(field.type)) field.value = kept.get(field.name) || "";
  }
}
for (const field of fields) {
  const value = kept.get(field.name);
  if (value === null || field.name === "units") continue;
  if (field.type === "checkbox") field.checked = value === field.value;
  else field.value = value;
  known += 1;
}
if (kept.has("moisture") && form.elements.namedItem("moisture.core")) {
  form.elements.namedItem("moisture.core").value = kept.get("moisture");
}
if (known) ask();
