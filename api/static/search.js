// Suggestions below the search field: plain links that the server makes. Without this script the field is a form.
const WAIT_MS = 120;
const LEAST_LETTERS = 2;

const field = document.getElementById("search-words");
const form = field?.closest("form");
let panel = null;
let timer = 0;
let request = null;

function close() {
  clearTimeout(timer);
  request?.abort();
  panel?.remove();
  panel = null;
}

async function suggest(words) {
  request?.abort();
  request = new AbortController();
  try {
    const asked = new URLSearchParams(new FormData(form)); // with the state that the page is of
    asked.set("q", words);
    const response = await fetch(`/search?${asked}`, {
      headers: { "Newel-Part": "suggestions" },
      signal: request.signal,
    });
    if (!response.ok) return close();
    const html = await response.text();
    if (!panel) {
      panel = document.createElement("div");
      panel.className = "suggested";
      field.after(panel);
    }
    panel.innerHTML = html;
  } catch {
    // an older request that was given up, or no connection: the form still searches
  }
}

field?.addEventListener("input", () => {
  clearTimeout(timer);
  const words = field.value.trim();
  if (words.length < LEAST_LETTERS) close();
  else timer = setTimeout(suggest, WAIT_MS, words);
});

form?.addEventListener("keydown", (event) => {
  if (!panel) return;
  if (event.key === "Escape") {
    field.focus();
    close();
    event.preventDefault();
  } else if (event.key === "ArrowDown" && event.target === field) {
    panel.querySelector("a")?.focus();
    event.preventDefault();
  }
});

form?.addEventListener("focusout", (event) => {
  if (!form.contains(event.relatedTarget)) close();
});
