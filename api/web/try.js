"use strict";

// Swagger UI resolves the ways of signing in as soon as a document is there, and for that follows
// every reference of the whole of it: seconds, in which the page is drawn and does not move. Ours
// have no references, so they are taken as they stand; the rest waits until a question is opened.
const SIGNING = ["components", "securitySchemes"];

function signingAsItStands() {
  const wrapped = (original, system) => (path) => {
    const known = system.specSelectors.specJson().getIn(SIGNING);
    if (`${path}` !== `${SIGNING}` || !known) return original(path);
    return system.specActions.updateResolvedSubtree(SIGNING, known.toJS());
  };
  return { statePlugins: { spec: { wrapActions: { requestResolvedSubtree: wrapped } } } };
}

window.addEventListener("DOMContentLoaded", () => {
  const root = document.documentElement.dataset.root;
  window.SwaggerUIBundle({
    url: `${root}/openapi.json`,
    dom_id: "#try",
    validatorUrl: null,
    deepLinking: true,
    docExpansion: "list",
    defaultModelsExpandDepth: -1,
    plugins: [signingAsItStands],
  });
});
