// What travels between the page and the program: the shapes of its JSON. Places are metres east and
// north in the field's plane, directions degrees clockwise from north, everything else SI.

/** Metres east and north. */
export type Point = [number, number];
/** Closed: the last point is the first. */
export type Ring = Point[];
/** Outer ring first, then holes. */
export type Polygon = Ring[];

export interface WireStrip {
  id: string;
  treatment: string;
  block: string | null;
  polygons: Polygon[];
  /** The strip of the base revision that this one was, or was split or copied from. */
  from?: string;
}

/** How an SI value is shown: times the factor, with the unit behind. */
export interface Shown {
  unit_farm: string;
  factor_farm: number;
  unit_si: string;
  factor_si: number;
}

export interface Pass {
  number: number;
  first: number;
  count: number;
  time_s: [number, number] | null;
  /** Place among the machines. */
  machine: number | null;
  direction_deg: number | null;
  length_m: number;
}

export interface Quantity extends Shown {
  key: string;
  title: string;
  kind: "number" | "status";
  decimals: number;
  low: number | null;
  high: number | null;
  /** Key of the same quantity as logged, before cleaning. */
  before?: string | null;
}

export interface StatusName {
  key: string;
  title: string;
}

/** `null`: found from the log, or the crop's own. */
export type SettingValue = number | null;

export interface Setting extends Shown {
  key: string;
  title: string;
  help: string;
  kind: "number" | "seconds_or_auto" | "number_or_crop";
  value: SettingValue;
  default: SettingValue;
  /** What `null` stands for where that is the crop's own. */
  crop_value: number | null;
  low: number | null;
  high: number | null;
}

export type Settings = Record<string, SettingValue>;

export interface Money {
  price_per_bu: number;
  cost_per_unit: number | null;
  treatments: Record<string, Record<string, number>>;
}

export interface MoneyField {
  key: string;
  title: string;
  unit: string;
  default: number | null;
}

export interface StripsOnDisk {
  file: string;
  format: string;
  revision: string;
  check: string;
  inset_m: number;
  treatments: string[];
  strips: WireStrip[];
}

export interface Background {
  id: string;
  title: string;
  kind: "image" | "lines";
  extent?: [number, number, number, number];
}

export interface AppliedLog {
  id: string;
  file: string;
  operation: string;
  /** What its strips can be told apart by. */
  by: ("product" | "rate" | "treatment")[];
}

export interface Trial {
  field: { name: string };
  units: "farm" | "si";
  extent: [number, number, number, number];
  direction_deg: number | null;
  header_width_m: number | null;
  records: number;
  machines: string[];
  passes: Pass[];
  quantities: Quantity[];
  statuses: StatusName[];
  settings: Setting[];
  /** Names the cleaning of the trial file. */
  cleaning: number;
  strips: StripsOnDisk;
  backgrounds: Background[];
  applied: AppliedLog[];
  money: Money | null;
  money_fields?: MoneyField[];
  out: string;
}

export interface Cleaned {
  cleaning: number;
  kept: number;
  removed: Record<string, number>;
  grain_delay_s: number | null;
  settings: Settings;
}

export interface Warning {
  code: string;
  message: string;
}

export interface StripResult {
  strip_id: string;
  treatment: string;
  block: string;
  records: number;
  area_m2: number;
  covered_fraction: number | null;
  yield_kg_ha: number | null;
  yield_bu_ac: number | null;
}

export interface Comparison {
  treatment: string;
  check: string;
  method: string;
  blocks: number;
  advantage_kg_ha: number | null;
  advantage_bu_ac: number | null;
  interval_95_kg_ha: [number | null, number | null] | null;
  interval_95_bu_ac?: [number | null, number | null] | null;
  p_value: number | null;
}

export interface Payoff {
  treatment: string;
  cost_per_ac: number | null;
  break_even_bu_ac: number | null;
  net_per_ac: number | null;
  net_interval_95_per_ac: [number | null, number | null] | null;
  odds_it_pays: number | null;
}

/** The parts of `results.json` that the page shows. */
export interface Results {
  cleaning: { kept: number; removed: Record<string, number>; grain_delay_s: number | null };
  strips: StripResult[];
  comparisons: Comparison[];
  payoff: Payoff[];
  warnings: Warning[];
}

export interface Compared {
  results: Results;
  answer?: { farm: string[]; si: string[] };
  cleaning: number;
  /** The page has asked again meanwhile; there is no answer. */
  superseded?: boolean;
}

export interface StripProblem {
  strip_id?: string | null;
  message: string;
  hint?: string | null;
}

export interface Saved {
  revision: string;
  file: string;
  kept_as: string | null;
  /** The same of the trial file, where settings or prices changed. */
  trial_kept_as?: string | null;
  /** What the file holds now. */
  strips: StripsOnDisk;
}

export interface Conflict {
  message: string;
  revision: string;
  strips: StripsOnDisk;
}

export interface Written {
  report: string;
  folder: string;
}

export interface PassLines {
  number: number;
  left: Point[];
  right: Point[];
  centre: Point[];
}

export interface AppliedPass {
  number: number;
  label: string;
  time_s: [number, number] | number | null;
  centre: Point[];
}

export interface Outlined {
  strips: WireStrip[];
  warnings: (Warning | string)[];
}

/** What is asked of the program: strips as drawn, and all that bears on their comparison. */
export interface Question {
  /** Names this page among all that are open. */
  page: string;
  base_revision: string;
  strips: WireStrip[];
  check: string;
  inset_m: number;
  settings: Settings;
  money: Money | null;
}
