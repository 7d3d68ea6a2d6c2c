// Shows the generated contract with the local reference library.
window.SwaggerUIBundle({
  url: "/api/v1/openapi.json",
  dom_id: "#reference",
  deepLinking: true,
  validatorUrl: null,
});
