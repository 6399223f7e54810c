/*
 * A form with data-region="NAME" asks again as soon as it changes: the server writes the part NAME of the page alone
 * (header Newel-Part), and it takes the place of the element with that id. Whatever goes wrong, the form is sent as it
 * would be without this file. A field that says what is usual (data-usual) is left out of the address when it says so.
 */

const PAUSE_MS = 150;
const waiting = new WeakMap();

/** What is asked, as an address: empty and usual fields left out, several values of a name joined by commas. */
function buildAddress(form) {
  const fields = new Map();
  for (const [name, value] of new FormData(form)) {
    const field = form.elements[name];
    if (value === "" || field?.dataset?.usual === value) continue;
    fields.set(name, fields.has(name) ? `${fields.get(name)},${value}` : value);
  }
  const address = new URL(form.action, location.href);
  address.search = new URLSearchParams([...fields]).toString().replaceAll("%2C", ",");
  return address;
}

/** The one element that tells aloud what has changed; it stands outside every part, so that it is never replaced. */
function getSpeaker() {
  let speaker = document.getElementById("spoken");
  if (!speaker) {
    speaker = document.createElement("p");
    speaker.id = "spoken";
    speaker.className = "unseen";
    speaker.setAttribute("aria-live", "polite");
    document.body.append(speaker);
  }
  return speaker;
}

/** Puts a part in place; who stood in a field of it stands there again, and opened rows stay open. */
function replacePart(name, html) {
  const part = document.getElementById(name);
  const focused = document.activeElement?.id;
  const open = [...part.querySelectorAll("details[open][id]")].map((one) => one.id);
  part.innerHTML = html;
  for (const id of open) document.getElementById(id)?.setAttribute("open", "");
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  const lead = part.querySelector(".lead");
  if (lead) getSpeaker().textContent = lead.textContent;
  const title = part.querySelector("[data-title]");
  if (title) document.title = title.dataset.title;
}

async function ask(form, signal) {
  const name = form.dataset.region;
  const address = buildAddress(form);
  const answer = await fetch(address, { headers: { "Newel-Part": name }, signal, redirect: "error" });
  if (answer.status !== 200 || !answer.headers.get("Content-Type")?.startsWith("text/html")) {
    throw new Error(`status ${answer.status}`);
  }
  const html = await answer.text();
  if (signal.aborted) return;
  replacePart(name, html);
  history.replaceState(null, "", address);
}

/** Asks after a short pause; what was asked before by the same form is given up at once. */
function askSoon(form, pause) {
  const before = waiting.get(form);
  if (before) {
    clearTimeout(before.timer);
    before.control.abort();
  }
  const control = new AbortController();
  const timer = setTimeout(() => {
    ask(form, control.signal).catch(() => {
      if (!control.signal.aborted) form.submit();
    });
  }, pause);
  waiting.set(form, { control, timer });
}

function findForm(element) {
  const form = element?.form ?? element;
  return form?.dataset?.region && document.getElementById(form.dataset.region) ? form : null;
}

/** A button with data-counts="one|many" says how many rows of its form hold an entry. */
function countEntries(form) {
  const button = form?.querySelector("[data-counts]");
  if (!button) return;
  const [one, many] = button.dataset.counts.split("|");
  const entered = [...form.elements].filter((field) => field.name.startsWith("level.") && field.value !== "").length;
  button.dataset.none ??= button.textContent;
  button.textContent = !entered ? button.dataset.none : entered === 1 ? one : many.replace("{n}", entered);
}

getSpeaker();
document.querySelectorAll("form").forEach(countEntries);
document.addEventListener("change", (event) => {
  const form = findForm(event.target);
  if (form) askSoon(form, PAUSE_MS);
  countEntries(event.target.form);
});
document.addEventListener("submit", (event) => {
  const form = findForm(event.target);
  if (!form || event.defaultPrevented) return;
  event.preventDefault();
  askSoon(form, 0);
});

/** Looks every second how far a computation is; once it is there the address itself leads on to the answer. */
function lookAgain(part) {
  const name = part.dataset.poll;
  setTimeout(async () => {
    try {
      const answer = await fetch(location.href, { headers: { "Newel-Part": name }, redirect: "manual" });
      if (answer.status !== 202) return location.reload();
      part.innerHTML = await answer.text();
    } catch {
      // whoever waits can still look again by hand, and the next second may do better
    }
    lookAgain(part);
  }, 1000);
}

for (const part of document.querySelectorAll("[data-poll]")) lookAgain(part);
