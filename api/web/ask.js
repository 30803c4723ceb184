"use strict";

// Asks the main question and shows its reply: the text as headings, tables and lists, then the
// chart. Everything is put in as text, never as markup.

const form = document.getElementById("question");
const reply = document.getElementById("reply");
const button = form.querySelector("button");
const token = document.getElementById("token");
const status = document.getElementById("status");
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
  for (const [name, value] of new FormData(form)) {
    if (name !== "format" && value.trim() !== "") query.append(name, value.trim());
  }
  return query;
}

async function fetched(query, format) {
  const headers = token.value ? { Authorization: `Bearer ${token.value}` } : {};
  const response = await fetch(`/v1/settle?${query}&format=${format}`, { headers });
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
  made.append(element("caption", title));
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

function bullets(lines) {
  const list = element("ul");
  for (const line of lines) {
    if (line.startsWith("- ")) list.append(element("li", unbroken(line.slice(2))));
    else list.lastChild.textContent += ` ${line.trim()}`;
  }
  return list;
}

function folded(title, content) {
  const made = element("details");
  made.append(element("summary", title), content);
  return made;
}

function shownBlock(block) {
  const lines = block.split("\n");
  const [first, ...rest] = lines;
  if (first === "Take care") {
    const made = element("div", undefined, "care");
    made.append(element("h3", first), bullets(rest));
    return made;
  }
  if (first === "Notes") return folded("What is assumed or weak", bullets(rest));
  if (first.startsWith("Leans on: ")) {
    return folded("Sources", element("p", lines.join(" ").replace("Leans on: ", "")));
  }
  if (rest.length && rest.every((line) => line.startsWith("  "))) return table(first, rest);
  return element("p", lines.join(" "));
}

function links(query) {
  const made = element("p", "This answer as ", "elsewhere");
  for (const format of ["text", "json", "csv", "svg"]) {
    const link = element("a", format);
    link.href = `/v1/settle?${query}&format=${format}`;
    made.append(link, " ");
  }
  return made;
}

function showAnswer(text, query) {
  const [decision, ...blocks] = text.trimEnd().split("\n\n");
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
  reply.replaceChildren(element("h2", "Answer"), lead, chart, ...blocks.map(shownBlock));
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

// The field a fault belongs to: its own, or the one that stands for a larger part.
function fieldOf(pointer) {
  const name = pointer.replace(/^\//, "").replaceAll("~1", "/").replaceAll("~0", "~");
  return name ? form.elements.namedItem(name) : null;
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

async function ask() {
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
  if (reply.getBoundingClientRect().top > window.innerHeight * 0.6) reply.scrollIntoView();
  await showChart(chart, query, mine).catch(() => {
    chart.replaceChildren(element("p", "The chart could not be drawn."));
  });
}

// Towns whose names begin as what is typed, the largest first. A service that cannot be reached
// suggests nothing; the question itself will tell.
const town = form.elements.namedItem("room.climate");
let typed = 0;

async function suggestTowns() {
  typed += 1;
  const mine = typed;
  const text = town.value.trim();
  if (text.length < 2) return;
  await new Promise((resume) => setTimeout(resume, 150)); // not at every letter of a fast hand
  if (mine !== typed) return;
  const headers = token.value ? { Authorization: `Bearer ${token.value}` } : {};
  const query = new URLSearchParams({ q: text, limit: "8" });
  const found = await fetch(`/v1/places?${query}`, { headers })
    .then((response) => (response.ok ? response.json() : { places: [] }))
    .catch(() => ({ places: [] }));
  if (mine !== typed) return;
  const options = found.places.map((place) => {
    const option = element("option");
    option.value = place.label;
    return option;
  });
  document.getElementById("towns").replaceChildren(...options);
}

town.addEventListener("input", suggestTowns);

form.addEventListener("submit", (event) => {
  event.preventDefault();
  ask();
});

// An address that carries a question, kept or sent on, asks it again.
const kept = new URLSearchParams(window.location.search);
let known = 0;
for (const [name, value] of kept) {
  const field = form.elements.namedItem(name);
  if (field && field.name === name && field.type !== "hidden") {
    field.value = value;
    known += 1;
  }
}
if (known) ask();
