"use strict";

window.addEventListener("DOMContentLoaded", () => {
  window.SwaggerUIBundle({
    url: "/openapi.json",
    dom_id: "#try",
    validatorUrl: null,
    deepLinking: true,
    docExpansion: "list",
    defaultModelsExpandDepth: -1,
  });
});
