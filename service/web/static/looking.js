// Says what is being looked for while a page that takes some seconds is on its way.

function say(looking) {
  const line = document.getElementById("looking");
  if (line) line.hidden = !looking;
}

document.addEventListener("submit", (event) => { if (event.target.matches("form[data-looking]")) say(true); });

// A page that is come back to is as it was left.
window.addEventListener("pageshow", () => say(false));
