// Stands in for node:fs in the browser: reads a file that the test's server gives.
export function readFileSync(url) {
  const request = new XMLHttpRequest();
  request.open("GET", url, false);
  request.send();
  return request.responseText;
}
