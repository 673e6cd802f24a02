import { describe, expect, it } from "vitest";
import { differences, isDisputed, merged } from "../src/differences";
import type { Table } from "../src/draft";

const before: Table = {
  title: "one",
  film: { thickness: "63 gauge", price: { value: "2.2 USD/kg", origin: "sheet" } },
  program: { force: "45 N", bands: [{ height: "1 m", wraps: 1 }] },
};
const changed = (change: (table: Table) => void): Table => {
  const table = structuredClone(before);
  change(table);
  return table;
};
const film = (table: Table): Table => table.film as Table;
const program = (table: Table): Table => table.program as Table;

describe("differences", () => {
  it("are none between equal cases, whatever the order of their fields", () => {
    const turned = { program: before.program, title: "one", film: { ...film(before) } } as Table;
    expect(differences(before, turned, before)).toEqual([]);
  });

  it("tell who changed what", () => {
    const mine = changed((table) => {
      film(table).thickness = "47 gauge";
    });
    const theirs = changed((table) => {
      program(table).force = "50 N";
      delete film(table).price;
    });
    const found = differences(before, mine, theirs);
    expect(found.map((each) => each.field).sort()).toEqual(["film.price", "film.thickness", "program.force"]);
    expect(found.some(isDisputed)).toBe(false);
    const whole = merged(theirs, found, () => true);
    expect(whole).toEqual({
      title: "one",
      film: { thickness: "47 gauge" },
      program: { ...program(before), force: "50 N" },
    });
  });

  it("are disputed where both changed a field, and the choice decides", () => {
    const mine = changed((table) => {
      program(table).bands = [];
      table.title = "mine";
    });
    const theirs = changed((table) => {
      program(table).bands = [{ height: "2 m", wraps: 2 }];
      table.title = "theirs";
    });
    const found = differences(before, mine, theirs);
    expect(found.filter(isDisputed).map((each) => each.field)).toEqual(["title", "program.bands"]);
    const whole = merged(theirs, found, (field) => field === "title");
    expect(whole.title).toBe("mine");
    expect(program(whole).bands).toEqual([{ height: "2 m", wraps: 2 }]);
  });

  it("that both made alike are no dispute", () => {
    const both = changed((table) => {
      table.title = "two";
    });
    const found = differences(before, both, structuredClone(both));
    expect(found.some(isDisputed)).toBe(false);
    expect(merged(both, found, () => false)).toEqual(both);
  });

  it("reach into a table that one of them took away or brought", () => {
    const mine = changed((table) => {
      delete table.film;
      table.hold = { after: "16 h" };
    });
    const whole = merged(structuredClone(before), differences(before, mine, before), () => true);
    expect(whole.hold).toEqual({ after: "16 h" });
    expect("film" in whole).toBe(false);
  });
});
