// The mark at the pointer while something is drawn: a cross, dark on light, that shows where a corner
// would be set once snapping has had its say.

import RegularShape from "ol/style/RegularShape";
import Stroke from "ol/style/Stroke";
import Style from "ol/style/Style";

const cross = (color: string, width: number): Style =>
  new Style({ image: new RegularShape({ points: 4, radius: 9, radius2: 0, stroke: new Stroke({ color, width }) }) });

export const POINTER: Style[] = [cross("#fff", 4), cross("#000", 2)];
