// Taking without waiting: a tap is shown at once and the page follows. A lunch that is finished while there is no network is
// kept on this device and sent later under its own key, so it is neither lost nor logged twice.

import { LONGEST, onceLetGo } from "./live.js";

const KEPT = "lunches to send";

function address(form, tapped) {
  const query = new URLSearchParams(new FormData(form));
  if (tapped) query.append("tapped", tapped);
  return `${form.action}?${query}`;
}

function showAtOnce(button) {
  if (!button) return;
  const mine = button.getAttribute("aria-pressed") === "true";
  button.setAttribute("aria-pressed", String(!mine));
  button.classList.toggle("tile-mine", !mine);
}

function replaceWith(page) {
  for (const id of ["taking", "finish"]) {
    const fresh = page.getElementById(id);
    const old = document.getElementById(id);
    if (fresh && old) old.replaceWith(document.importNode(fresh, true));
    else if (fresh || old) { location.reload(); return false; }
  }
  return true;
}

// Taps are carried out one after the other, each on the page that the one before led to; without a network they wait.
const tapped = [];
let loading = false;

function loadNext() {
  if (loading || !tapped.length) return;
  const form = document.getElementById("taking");
  const tile = tapped[0];
  const where = address(form, tile);
  const request = new XMLHttpRequest();
  loading = true;
  request.open("GET", where);
  request.responseType = "document";
  request.timeout = LONGEST; // then it is as if there were no network: the tap waits and is tried again
  request.onloadend = () => onceLetGo(() => {
    loading = false;
    if (request.status === 0) { sayWaiting(); return; }
    tapped.shift();
    if (request.status !== 200 || !request.response) { location.assign(where); return; }
    const focused = document.activeElement?.id;
    if (!replaceWith(request.response)) return;
    history.replaceState(null, "", address(document.getElementById("taking")));
    for (const later of tapped) showAtOnce(tileOf(later));
    document.getElementById(focused)?.focus();
    sayWaiting();
    loadNext();
  });
  request.send();
}

function tileOf(value) {
  return document.getElementById(`tile-${value}`);
}

document.addEventListener("click", (event) => {
  const tile = event.target.closest("#taking button.tile");
  if (!tile || tile.disabled) return;
  event.preventDefault();
  showAtOnce(tile);
  tapped.push(tile.value);
  loadNext();
});

function kept() {
  try { return JSON.parse(localStorage.getItem(KEPT)) || []; } catch { return []; }
}

function keep(lunches) {
  localStorage.setItem(KEPT, JSON.stringify(lunches));
}

function sayWaiting() {
  document.getElementById("waiting")?.toggleAttribute("hidden", !kept().length && (!tapped.length || loading));
}

async function send(lunch) {
  const answer = await fetch(lunch.action, {
    method: "POST",
    headers: { "Content-Type": "application/x-www-form-urlencoded" },
    body: lunch.body,
    redirect: "follow",
    signal: AbortSignal.timeout(LONGEST), // an answer that never comes is no network: the lunch is kept and sent again
  });
  return answer;
}

function outOfOrder(answer) {
  return answer.status === 429 || answer.status >= 500;
}

// A device that was signed in anew has another token.
function withTokenOfNow(body) {
  const fields = new URLSearchParams(body);
  const token = document.querySelector("input[name=token]");
  if (token) fields.set("token", token.value);
  return fields.toString();
}

let sending = false;

async function sendKept() {
  if (sending) return;
  sending = true;
  try {
    for (let waiting = kept(); waiting.length; waiting = kept()) {
      const answer = await send({ ...waiting[0], body: withTokenOfNow(waiting[0].body) });
      if (answer.status === 401 || answer.status === 403 || outOfOrder(answer)) break;
      keep(kept().filter((one) => one.body !== waiting[0].body)); // another may have been kept meanwhile
      location.reload(); // it is logged; or it was refused, and the tiles are there again
    }
  } catch {
    // Still no network: what waits stays, and is tried again when there is one, or every few seconds. So it does while
    // the service is out of order, or the device is not signed in.
  } finally {
    sending = false;
    sayWaiting();
  }
}

document.addEventListener("submit", (event) => {
  const form = event.target.closest("#finish");
  if (!form) return;
  event.preventDefault();
  const lunch = { action: form.getAttribute("action"), body: new URLSearchParams(new FormData(form)).toString() };
  form.querySelector("button").disabled = true;
  const later = () => { keep([...kept(), lunch]); sayWaiting(); };
  send(lunch).then((answer) => {
    if (outOfOrder(answer)) later();
    else if (answer.redirected) location.assign(answer.url);
    else form.submit();
  }, later);
});

// Another device logged the lunch, took it back, or changed what may be taken: the button to finish belongs to other tiles.
function picks(id) {
  const form = document.querySelector(`form[id=${id}]`);
  return form && [...form.querySelectorAll("[name=take]")].map((one) => one.value).join();
}

document.addEventListener("refreshed", () => { if (picks("taking") !== picks("finish")) location.reload(); });
addEventListener("online", () => { sendKept(); loadNext(); });
setInterval(() => { if (kept().length) sendKept(); loadNext(); }, 5000);
sendKept();
