// Forms: what may stand in a field that holds ids, a warning before typed values are left behind; a button to print.
// Without this script a form does the same: ids are typed, nothing is lost by the server.

const READ = new URLSearchParams(location.search).get("language"); // in which language the page is read
const FIND = `/api/find?limit=12${READ ? `&language=${encodeURIComponent(READ)}` : ""}&text=`;
const KINDS = { competencies: "competency", courses: "course", people: "person", roles: "role", teams: "team" };

/** Offer the records that what was begun to type finds, below its field. */
function offer(input) {
  const list = document.createElement("datalist");
  list.id = `offered-to-${input.name}`;
  input.after(list);
  input.setAttribute("list", list.id);
  let pause = 0;
  let asked = null;
  input.addEventListener("input", () => {
    clearTimeout(pause);
    asked?.abort();
    const text = input.value.trim();
    if (text.length < 2) return;
    pause = setTimeout(async () => {
      asked = new AbortController();
      try {
        const response = await fetch(FIND + encodeURIComponent(text), { signal: asked.signal });
        const found = response.ok ? (await response.json()).matches : [];
        const fitting = found.filter((match) => match.kind === KINDS[input.dataset.table]);
        list.replaceChildren(...fitting.map((match) => new Option(match.label, match.id)));
      } catch {
        // aborted, or no connection: one types the id
      }
    }, 150);
  });
}

/** Return what a form would send, as one text. */
function read(form) {
  return JSON.stringify([...new FormData(form)].map(([name, value]) => [name, value.name ?? value]));
}

/** Ask before a form is left whose values were changed and not sent. */
function warn(form) {
  const before = read(form);
  let isSent = false;
  form.addEventListener("submit", () => { isSent = true; });
  addEventListener("pageshow", () => { isSent = false; });
  addEventListener("beforeunload", (event) => {
    if (!isSent && read(form) !== before) event.preventDefault();
  });
}

for (const input of document.querySelectorAll("input[data-table]")) {
  if (!input.list && KINDS[input.dataset.table]) offer(input);
}
for (const form of document.querySelectorAll("form[data-warn]")) warn(form);
for (const place of document.querySelectorAll(".same")) {
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = "Print";
  button.addEventListener("click", () => print());
  place.append(button);
}
