// Changes of an offer without loading the page anew: the small forms are sent, and both columns are put in the place of the
// old ones; what was focused stays so, an opened part stays open, and what is typed into other forms stays there. What another
// device changes is not put in by itself: the page says so, and shows it when asked.

const PARTS = ["offer", "follows"];
const SOON = 300;
let sending = 0;
const LONGEST = 120000; // for an answer, which may have to be counted: then the page is loaded anew
let changing = false;
const waiting = [];
let mark = document.getElementById("set-out").dataset.mark;
let later = null;
let shown = columns(document); // as the server made them; null: not known

function columns(page) {
  return PARTS.map((id) => page.getElementById(id).outerHTML).join("");
}

function opened() {
  return [...document.querySelectorAll("#set-out details[open] > summary[id]")].map((one) => one.id);
}

// Where the focus goes: to what was pressed; where that is gone, to what stood nearest to it and is still there.
const PRESSED = "a[id], button[id], summary[id], input[id], select[id]";

function nearest(id) {
  const part = document.getElementById(id)?.closest("#offer, #follows");
  if (!part) return [];
  const ids = [...part.querySelectorAll(PRESSED)].map((one) => one.id);
  const place = ids.indexOf(id);
  const before = ids.slice(0, place).reverse();
  const after = ids.slice(place + 1);
  return ids.map((_one, step) => [after[step], before[step]]).flat().filter((one) => one);
}

// What a form is about: an edit of the same thing again finds what was typed, another thing in its place does not.
function about(form) {
  const fixed = [...form.querySelectorAll("input[type=hidden]")].filter((one) => !["token", "version"].includes(one.name));
  return [form.getAttribute("action"), ...fixed.map((one) => `${one.name}=${one.value}`)].join("|");
}

function fields(form) {
  return [...form.elements].filter((one) => one.matches("select, textarea, input:not([type=hidden])"));
}

function isTicked(field) {
  return field.type === "checkbox" || field.type === "radio";
}

function isTyped(field) {
  if (field.options) return [...field.options].some((one) => one.selected !== one.defaultSelected);
  return isTicked(field) ? field.checked !== field.defaultChecked : field.value !== field.defaultValue;
}

function typedBut(sent) {
  const found = [];
  for (const form of document.querySelectorAll("#set-out form")) {
    const what = about(form);
    if (what === sent) continue;
    fields(form).forEach((one, place) => { if (isTyped(one)) found.push([what, place, isTicked(one) ? one.checked : one.value]); });
  }
  return found;
}

function typeAgain(typed) {
  const forms = new Map([...document.querySelectorAll("#set-out form")].map((one) => [about(one), fields(one)]));
  for (const [what, place, value] of typed) {
    const field = forms.get(what)?.[place];
    if (!field || (field.options && ![...field.options].some((one) => one.value === value))) continue;
    if (isTicked(field)) field.checked = value;
    else field.value = value;
  }
}

function theOffer() {
  const offer = document.getElementById("offer");
  offer.tabIndex = -1;
  return offer;
}

function show(page, focused, open, sent, went) {
  const places = [focused, ...nearest(focused)];
  if (!page.getElementById("set-out")) return false;
  const typed = typedBut(sent);
  mark = page.getElementById("set-out").dataset.mark;
  shown = went ? columns(page) : null;
  document.getElementById("set-out").after(document.getElementById("helping"));
  document.getElementById("helping").hidden = true;
  for (const id of PARTS) put(id, page.getElementById(id));
  document.title = page.title;
  for (const id of open) document.getElementById(id)?.parentElement.setAttribute("open", "");
  typeAgain(typed);
  const alert = document.querySelector("#conflict, #faults");
  findWhatHelps(); // it hides its link, which then cannot have the focus
  const place = places.find((id) => document.getElementById(id)?.checkVisibility());
  (alert || document.getElementById(place) || document.getElementById("q") || theOffer()).focus();
  return true;
}

// The smallest changes take longer to find than all else: they are asked for once the rest is there.
function findWhatHelps() {
  const link = document.getElementById("helps");
  if (!link) return;
  const mine = sending;
  const helping = document.getElementById("helping");
  link.parentElement.append(helping);
  link.hidden = true;
  helping.hidden = false;
  const request = new XMLHttpRequest();
  request.open("GET", link.getAttribute("href"));
  request.responseType = "document";
  request.timeout = LONGEST;
  request.onloadend = () => {
    if (mine !== sending) return;
    helping.hidden = true;
    document.getElementById("set-out").after(helping);
    const fresh = request.status === 200 && request.response?.getElementById("follows");
    if (fresh && !document.getElementById("follows").contains(document.activeElement)) put("follows", fresh);
    else link.hidden = false;
  };
  request.send();
}

function put(id, fresh) {
  const scrolled = document.getElementById(id).scrollTop;
  document.getElementById(id).replaceWith(document.importNode(fresh, true));
  document.getElementById(id).scrollTop = scrolled;
}

function ask(method, where, body, focused, sent = null, then = () => {}) {
  const mine = ++sending;
  const open = opened();
  const counting = document.getElementById("counting");
  const late = setTimeout(() => { counting.hidden = false; }, SOON);
  const request = new XMLHttpRequest();
  request.open(method, where);
  request.responseType = "document";
  request.timeout = LONGEST;
  if (body !== null) request.setRequestHeader("Content-Type", "application/x-www-form-urlencoded");
  request.onloadend = () => {
    clearTimeout(late);
    counting.hidden = true;
    if (mine !== sending && body === null) return;
    if (!request.response || !show(request.response, focused, open, sent, request.status === 200)) { location.assign(body === null ? where : location.href); return; }
    if (request.status === 200) history.replaceState(null, "", request.responseURL.split("#")[0]);
    then(request.status === 200);
    lookAgain();
  };
  request.send(body);
}

// One change after the other: each is made from the offer that the one before left. After one that did not go through, the
// rest is let go, since the person has to look first.
function change(one) {
  if (changing) { waiting.push(one); return; }
  changing = true;
  ask("POST", one.where, one.typed.toString(), one.focused, one.sent, (went) => {
    changing = false;
    const next = went ? waiting.shift() : undefined;
    if (!next) { waiting.length = 0; return; }
    if (next.typed.has("version")) next.typed.set("version", document.querySelector("#set-out input[name=version]").value);
    change(next);
  });
}

document.addEventListener("submit", (event) => {
  const form = event.target.closest("#set-out form[data-here]");
  if (!form) return;
  event.preventDefault();
  const typed = new URLSearchParams(new FormData(form));
  const focused = form.contains(document.activeElement) ? document.activeElement.id : "";
  const where = form.getAttribute("action").split("#")[0];
  if (form.method === "get") ask("GET", `${where}?${typed}`, null, focused, about(form));
  else change({ where, typed, focused, sent: about(form) });
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("#set-out a[data-here]");
  if (!link || event.metaKey || event.ctrlKey || event.shiftKey || event.button) return;
  event.preventDefault();
  ask("GET", link.getAttribute("href").split("#")[0], null, link.href.includes("into=") ? "q" : link.id);
});

// Something of the household changed (live.js says so): if it is not what this page shows already, the page is asked for once
// more, and only compared.
document.addEventListener("mark-seen", (event) => {
  if (event.detail !== mark && !changing) return;
  event.preventDefault();
  later = changing ? event.detail : null;
});

function lookAgain() {
  if (later === null || changing) return;
  if (later !== mark) document.dispatchEvent(new Event("please-refresh"));
  later = null;
}

document.addEventListener("refreshed", (event) => {
  if (changing || !event.detail.getElementById("set-out")) return;
  const now = columns(event.detail);
  mark = event.detail.getElementById("set-out").dataset.mark;
  shown ??= now;
  document.getElementById("changed").hidden = now === shown;
});

document.addEventListener("click", (event) => {
  if (event.target.closest("#changed-show")) ask("GET", location.href.split("#")[0], null, "");
});

findWhatHelps();
