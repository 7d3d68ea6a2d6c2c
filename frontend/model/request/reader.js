// Reads values of the plan for a request, and keeps what could not be read and where each part of
// the request comes from.
import { SHEETS } from "../document/columns.js";
import { readAt, unitAt, valueAt } from "../document/document.js";
import { isBlank, readList, textOf } from "../units/entry.js";

export class Reader {
  constructor(plan) {
    this.plan = plan;
    this.problems = [];
    this.places = new Map();
  }

  place(pointer, path) {
    this.places.set(pointer, path);
  }

  // The number at a path; undefined where blank or unreadable (which is noted).
  number(path) {
    const found = readAt(this.plan, path);
    if (found.error) this.problems.push({ path, text: found.error });
    return found.value;
  }

  // The numbers of a list in one field; undefined where blank or unreadable (which is noted).
  list(path) {
    const found = readList(valueAt(this.plan, path), unitAt(this.plan, path));
    if (found.error) this.problems.push({ path, text: found.error });
    return found.values?.length ? found.values : undefined;
  }

  // {name: {...}} of the fields of a part that hold something; {} where all are blank.
  part(name, fields, more = {}) {
    const body = {};
    for (const field of fields) {
      const path = `${name}.${field}`;
      this.place(`/${name}/${field}`, path);
      const value = this.number(path);
      if (value !== undefined) body[field] = value;
    }
    for (const [key, value] of Object.entries(more)) {
      this.place(`/${name}/${key}`, `${name}.${key}`);
      if (value !== undefined) body[key] = value;
    }
    this.place(`/${name}`, name);
    return Object.keys(body).length ? { [name]: body } : {};
  }

  // The filled cells of a row by their columns.
  row(sheet, row, path, columns = Object.keys(SHEETS[sheet])) {
    const read = {};
    for (const name of columns) {
      if (isBlank(row[name])) continue;
      const isText = ["text", "choice"].includes(SHEETS[sheet][name]);
      const value = isText ? textOf(row[name]).trim() : this.number(`${path}.${name}`);
      if (value !== undefined) read[name] = value;
    }
    return read;
  }
}
