// Opens the packaged viewer on this server's own document; no online validator, no other host.
"use strict";
const place = document.getElementById("viewer");
SwaggerUIBundle({
  domNode: place,
  url: place.dataset.document,
  validatorUrl: null,
  docExpansion: "none",
  defaultModelsExpandDepth: 0,
  displayRequestDuration: true,
  filter: true,
  deepLinking: true,
  tagsSorter: "alpha",
});
