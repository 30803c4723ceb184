"use strict";

window.addEventListener("DOMContentLoaded", () => {
  const root = document.documentElement.dataset.root;
  window.SwaggerUIBundle({
    url: `${root}/openapi.json`,
    dom_id: "#try",
    validatorUrl: null,
    deepLinking: true,
    docExpansion: "list",
    defaultModelsExpandDepth: -1,
  });
});
