// Shows the generated contract with the local reference library.
window.SwaggerUIBundle({
  url: "/api/v1/openapi.json",
  dom_id: "#reference",
  deepLinking: true,
  validatorUrl: null,
  // The planner asks for it beside a password: no form of another site can send it.
  requestInterceptor(request) {
    request.headers["X-Requested-With"] = "yardfall-reference";
    return request;
  },
});
