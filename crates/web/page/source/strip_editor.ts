// The selected strip in numbers: its name, middle, length, width, direction and every corner. What
// can be done on the map can be done here with keys alone.

import { announce } from "./announcements";
import { element, fill } from "./element";
import { lengthField, numberField, textField, type Field } from "./fields";
import type { Model, Strip, StripParts } from "./model";
import { area, boxAround, mapped, shifted, stretched, toMillimetres, turned } from "./plane";
import { copied } from "./split";
import { areaUnit, figure, lengthUnit, metresOf, onUnits, shownArea, shownLength, typed } from "./units";
import type { Point, Polygon } from "./wire";

/** A closed ring of a strip keeps at least three corners. */
const FEWEST_CORNERS = 3;

export function stripEditor(target: HTMLElement, model: Model): void {
  let fields: Field[] = [];
  let shownKeys = "";
  const corners = element("div", { class: "corners" });

  const only = (): Strip | undefined => {
    const chosen = model.selectedStrips();
    return chosen.length === 1 ? chosen[0] : undefined;
  };
  const edit = (how: (strip: Strip) => Partial<StripParts>, words: string): void => {
    model.edit(model.selected, how, words);
    announce(`${words}.`);
  };
  const reshape = (how: (polygons: readonly Polygon[]) => Polygon[], words: string): void =>
    edit((strip) => ({ polygons: toMillimetres(how(strip.polygons)) }), words);

  const oneStrip = (strip: Strip): Field[] => {
    const { key } = strip;
    const now = (): Strip => model.strip(key) ?? strip;
    const box = (): ReturnType<typeof boxAround> => boxAround(now().polygons);
    const name = (): string => `Strip ${now().id}`;
    const moveTo = (to: Point): void => {
      const by: Point = [to[0] - box().centre[0], to[1] - box().centre[1]];
      reshape((polygons) => mapped(polygons, (point) => shifted(point, by)), `${name()} moved`);
    };
    return [
      textField(
        "Name",
        () => now().id,
        (id) => {
          const taken = model.state.strips.some((other) => other.key !== key && other.id === id);
          if (id === "" || taken) {
            announce(taken ? `There is a strip ${id} already.` : "A strip needs a name.");
            fields[0]!.input.value = now().id;
          } else edit(() => ({ id }), `Strip is called ${id}`);
        },
      ),
      lengthField("Middle, east", {
        valueM: () => box().centre[0],
        changed: (east) => moveTo([east, box().centre[1]]),
      }),
      lengthField("Middle, north", {
        valueM: () => box().centre[1],
        changed: (north) => moveTo([box().centre[0], north]),
      }),
      lengthField("Length", {
        valueM: () => box().lengthM,
        changed: (length) =>
          reshape(
            (polygons) => stretched(polygons, box(), length / box().lengthM, 1),
            `${name()} made longer or shorter`,
          ),
        least: 0.1,
      }),
      lengthField("Width", {
        valueM: () => box().widthM,
        changed: (width) =>
          reshape(
            (polygons) => stretched(polygons, box(), 1, width / box().widthM),
            `${name()} made wider or narrower`,
          ),
        least: 0.1,
      }),
      numberField("Direction", {
        value: () => box().directionDeg,
        changed: (to) => {
          const { centre, directionDeg } = box();
          reshape(
            (polygons) => mapped(polygons, (point) => turned(point, centre, to - directionDeg)),
            `${name()} turned`,
          );
        },
        least: 0,
        most: 360,
        unit: () => "°",
        decimals: 2,
      }),
    ];
  };

  const refresh = (): void => {
    for (const field of fields) field.refresh();
    drawCorners();
  };

  const drawCorners = (): void => {
    const strip = only();
    if (!strip) {
      fill(corners);
      return;
    }
    const places = strip.polygons.flatMap((polygon, part) =>
      polygon.flatMap((ring, hole) => ring.slice(0, -1).map((point, corner) => ({ part, hole, corner, point }))),
    );
    const change = (part: number, hole: number, words: string, how: (ring: Point[]) => void): void => {
      reshape((polygons) => {
        const changed = copied(polygons);
        const ring = changed[part]![hole]!;
        ring.pop();
        how(ring);
        ring.push([...ring[0]!]);
        return changed;
      }, words);
    };
    const name = (hole: number, part: number, corner: number): string =>
      [
        `corner ${corner + 1}`,
        hole > 0 ? `of hole ${hole}` : "",
        strip.polygons.length > 1 ? `of part ${part + 1}` : "",
      ]
        .filter((words) => words !== "")
        .join(" ");
    const input = (axis: 0 | 1, { part, hole, corner, point }: (typeof places)[number]): HTMLInputElement => {
      const made = element("input", {
        type: "number",
        step: "any",
        "aria-label": `${axis === 0 ? "East" : "North"} of ${name(hole, part, corner)}, ${lengthUnit()}`,
        "data-cell": `${part} ${hole} ${corner} ${axis}`,
      });
      made.value = typed(shownLength(point[axis]), 2);
      made.addEventListener("change", () => {
        if (!Number.isFinite(made.valueAsNumber)) {
          made.value = typed(shownLength(point[axis]), 2);
          return;
        }
        change(part, hole, `Strip ${strip.id}: ${name(hole, part, corner)} moved`, (ring) => {
          ring[corner]![axis] = metresOf(made.valueAsNumber);
        });
      });
      return made;
    };
    const focused = (document.activeElement as HTMLElement | null)?.dataset.cell;
    fill(
      corners,
      element(
        "table",
        {},
        element("caption", {}, `Corners, ${lengthUnit()}`),
        element(
          "thead",
          {},
          element(
            "tr",
            {},
            element("th", { scope: "col" }, "East"),
            element("th", { scope: "col" }, "North"),
            element("th", { scope: "col" }, "Corner"),
          ),
        ),
        element(
          "tbody",
          {},
          ...places.map((place) => {
            const { part, hole, corner } = place;
            const ring = strip.polygons[part]![hole]!;
            const words = name(hole, part, corner);
            return element(
              "tr",
              {},
              element("td", {}, input(0, place)),
              element("td", {}, input(1, place)),
              element(
                "td",
                { class: "buttons" },
                element(
                  "button",
                  {
                    type: "button",
                    "aria-label": `Add a corner after ${words}`,
                    title: "Add a corner halfway to the next",
                    onclick: () =>
                      change(part, hole, `Strip ${strip.id}: corner added`, (open) => {
                        const [a, b] = [open[corner]!, open[(corner + 1) % open.length]!];
                        open.splice(corner + 1, 0, [(a[0] + b[0]) / 2, (a[1] + b[1]) / 2]);
                      }),
                  },
                  "+",
                ),
                element(
                  "button",
                  {
                    type: "button",
                    "aria-label": `Take out ${words}`,
                    title: "Take this corner out",
                    disabled: ring.length - 1 <= FEWEST_CORNERS,
                    onclick: () =>
                      change(part, hole, `Strip ${strip.id}: ${words} taken out`, (open) => open.splice(corner, 1)),
                  },
                  "−",
                ),
              ),
            );
          }),
        ),
      ),
    );
    // The table was made anew: whoever was typing in it goes on where they were.
    if (focused) corners.querySelector<HTMLElement>(`[data-cell="${focused}"]`)?.focus();
  };

  const draw = (): void => {
    const chosen = model.selectedStrips();
    const keys = chosen.map((strip) => strip.key).join();
    if (keys === shownKeys) {
      refresh();
      return;
    }
    shownKeys = keys;
    target.hidden = chosen.length === 0;
    const strip = only();
    fields = strip ? oneStrip(strip) : [];
    const title = strip ? `Strip ${strip.id} in numbers` : `${chosen.length} strips selected`;
    const ground = chosen.reduce((sum, each) => sum + area(each.polygons), 0);
    fill(
      target,
      element("h3", {}, title),
      strip
        ? null
        : element("p", {}, `${figure(shownArea(ground), 2)} ${areaUnit()} together. Select one to see its numbers.`),
      element("div", { class: "fields pairs" }, ...fields.map((field) => field.row)),
      strip ? element("details", {}, element("summary", {}, "Corners"), corners) : null,
      element(
        "button",
        {
          type: "button",
          class: "danger",
          onclick: () => removeSelected(model),
        },
        strip ? `Delete strip ${strip.id}` : `Delete these ${chosen.length} strips`,
      ),
    );
    drawCorners();
  };
  draw();
  model.onChange(draw);
  onUnits(drawCorners);
}

export function removeSelected(model: Model): void {
  const chosen = model.selectedStrips();
  if (chosen.length === 0) return;
  const words = `Deleted ${chosen.length === 1 ? `strip ${chosen[0]!.id}` : `${chosen.length} strips`}`;
  model.remove(model.selected, words);
  announce(`${words}. Ctrl+Z brings back what was deleted.`);
}
