// Keeps the marked parts of a page as they are on every device: when something of the household has changed, the page is
// asked for again and each element with data-live is put in the place of the old one of the same id.

const EVERY = 5000;
export const LONGEST = 15000; // for an answer: a network that went away without a word gives none
let mark = null;
let asking = false;

// Nothing is put in the place of what is just being pressed: the press would be lost.
export function onceLetGo(then) {
  if (document.querySelector("button:active, a:active, summary:active")) setTimeout(onceLetGo, 20, then);
  else then();
}

function refresh() {
  if (asking) return;
  asking = true;
  const asked = location.href;
  const request = new XMLHttpRequest();
  request.open("GET", asked);
  request.responseType = "document";
  request.timeout = LONGEST;
  request.onloadend = () => onceLetGo(() => {
    asking = false;
    if (location.href !== asked) { refresh(); return; } // something was tapped meanwhile: this is the page before it
    if (request.status !== 200 || !request.response) return;
    for (const part of document.querySelectorAll("[data-live][id]")) {
      const fresh = request.response.getElementById(part.id);
      if (!fresh || fresh.isEqualNode(part) || part.matches("[data-typing]")) continue;
      const focused = part.contains(document.activeElement) ? document.activeElement.id : "";
      part.replaceWith(document.importNode(fresh, true));
      if (focused) document.getElementById(focused)?.focus();
    }
    document.dispatchEvent(new CustomEvent("refreshed", { detail: request.response }));
  });
  request.send();
}

// A page that knows which mark it was made with, or that asks for itself, says so by preventing the event.
function seen(now) {
  const first = mark === null && !document.querySelector("[data-mark]");
  if (now !== mark && !first && document.dispatchEvent(new CustomEvent("mark-seen", { cancelable: true, detail: now }))) refresh();
  mark = now;
}

function ask() {
  fetch("/events/mark", { signal: AbortSignal.timeout(LONGEST) }).then((answer) => (answer.ok ? answer.text() : null)).then((now) => now && seen(now), () => {});
}

let stream = null;
let polling = null;

function listen() {
  if (!("EventSource" in window)) {
    polling ??= setInterval(ask, EVERY);
    return;
  }
  stream = new EventSource("/events");
  stream.addEventListener("mark", (event) => seen(event.data));
  stream.onopen = () => { clearInterval(polling); polling = null; };
  stream.onerror = () => { polling ??= setInterval(ask, EVERY); };
}

document.addEventListener("visibilitychange", () => {
  if (document.hidden) { stream?.close(); stream = null; clearInterval(polling); polling = null; }
  else if (!stream) { listen(); ask(); }
});
document.addEventListener("please-refresh", refresh);
listen();
