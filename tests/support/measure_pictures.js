// What is wrong with each drawn picture, measured where the browser has put it. Lengths are CSS px.
const BESIDE = 1;
const BELOW = 4;

function getBox(element) {
  const box = element.getBoundingClientRect();
  return { left: box.left, top: box.top, right: box.right, bottom: box.bottom, area: box.width * box.height };
}

// Where a text is fixed: it grows away from here when it is set wider than it was measured.
function getAnchor(text, box) {
  const at = text.getAttribute("text-anchor") || "start";
  const x = at === "middle" ? (box.left + box.right) / 2 : at === "end" ? box.right - 1 : box.left + 1;
  return { x, y: (box.top + box.bottom) / 2 };
}

function overlap(one, two) {
  return (
    Math.min(one.right, two.right) - Math.max(one.left, two.left) > BESIDE &&
    Math.min(one.bottom, two.bottom) - Math.max(one.top, two.top) > BELOW
  );
}

function* iteratePairs(items) {
  for (let i = 0; i < items.length; i++) for (let k = i + 1; k < items.length; k++) yield [items[i], items[k]];
}

function findFaults(svg) {
  const texts = [...svg.querySelectorAll("text")].map((text) => ({ text, words: text.textContent, ...getBox(text) }));
  const boxes = [...svg.querySelectorAll("polygon")].filter((p) => !p.closest(".edge")).map(getBox);
  const nodes = [...svg.querySelectorAll("g.node")].map((node) => ({ words: node.id, ...getBox(node) }));
  const faults = [];
  for (const text of texts) {
    if (!text.text.hasAttribute("textLength")) faults.push(`without a length: ${text.words}`);
    if (!text.words.trim()) continue;
    const at = getAnchor(text.text, text);
    const around = boxes.filter((b) => b.left <= at.x && at.x <= b.right && b.top <= at.y && at.y <= b.bottom);
    const box = around.reduce((least, b) => (least && least.area <= b.area ? least : b), null);
    if (
      !box || text.left < box.left - BESIDE || text.right > box.right + BESIDE ||
      text.top < box.top - BELOW || text.bottom > box.bottom + BELOW
    ) faults.push(`outside its box: ${text.words}`);
  }
  for (const [one, two] of iteratePairs(texts.filter((text) => text.words.trim()))) {
    if (overlap(one, two)) faults.push(`text on text: ${one.words} | ${two.words}`);
  }
  for (const [one, two] of iteratePairs(nodes)) {
    if (overlap(one, two)) faults.push(`node on node: ${one.words} | ${two.words}`);
  }
  return faults;
}

// The share of squares of 16 px in which not everything is white.
async function measureInk(svg, width, height) {
  const image = new Image();
  image.src = "data:image/svg+xml;charset=utf-8," + encodeURIComponent(new XMLSerializer().serializeToString(svg));
  await image.decode();
  const canvas = document.createElement("canvas");
  canvas.width = Math.ceil(width);
  canvas.height = Math.ceil(height);
  const context = canvas.getContext("2d");
  context.fillStyle = "white";
  context.fillRect(0, 0, canvas.width, canvas.height);
  context.drawImage(image, 0, 0, width, height);
  const pixels = new Uint32Array(context.getImageData(0, 0, canvas.width, canvas.height).data.buffer);
  const across = Math.ceil(canvas.width / 16);
  const squares = new Set();
  pixels.forEach((pixel, at) => {
    if (pixel !== 0xffffffff) squares.add((at / canvas.width >> 4) * across + (at % canvas.width >> 4));
  });
  return squares.size / (across * Math.ceil(canvas.height / 16));
}

async function measure() {
  const measured = {};
  for (const figure of document.querySelectorAll("figure")) {
    const svg = figure.querySelector("svg");
    const { width, height } = svg.getBoundingClientRect();
    const ink = document.body.dataset.ink ? await measureInk(svg, width, height) : -1;
    measured[figure.id] = { faults: findFaults(svg), texts: svg.querySelectorAll("text").length, width, height, ink };
  }
  document.body.innerHTML = "<pre></pre>";
  document.querySelector("pre").textContent = JSON.stringify(measured);
}

measure();
