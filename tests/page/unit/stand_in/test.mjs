// Stands in for node:test in the browser: runs each test at once and keeps how it went.
const running = [];

export function test(name, body) {
  running.push(
    Promise.resolve()
      .then(body)
      .then(
        () => ({ name, error: null }),
        (error) => ({ name, error: String(error.stack ?? error) }),
      ),
  );
}

export const results = () => running;
globalThis.setImmediate ??= (run) => setTimeout(run);
