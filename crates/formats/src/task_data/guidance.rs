//! A first line out of task data: the A-B line of a guidance pattern, or a guidance line of version 3.

use checkstrip_model::Problem;

use super::TaskSet;
use super::element::Element;

/// Line strings that are guidance patterns (LSG, attribute A).
const GUIDANCE: &str = "5";
/// Guidance patterns that are A-B lines (GPN, attribute C).
const AB_LINE: &str = "1";
/// Points A and B of such a pattern (PNT, attribute A).
const POINT_A: u8 = 6;
const POINT_B: u8 = 7;

impl TaskSet {
    /// The A-B line of the set, or the one chosen by its name, its group's or its field's: A and B, longitude and
    /// latitude in degrees.
    ///
    /// # Errors
    /// When there is none, several fit, or it is not straight from A to B.
    pub(crate) fn first_line(mut self) -> Result<[[f64; 2]; 2], Problem> {
        self.read_binary_files("PNT", "J")?;
        let file = self.files.given.as_str();
        // Each line with what it may be called.
        let mut lines: Vec<(&Element, Vec<String>)> = Vec::new();
        for field in self.root.each("PFD") {
            let of_field: Vec<String> = [field.text("A"), field.text("C")]
                .into_iter()
                .flatten()
                .map(str::to_owned)
                .collect();
            let names = |element: &Element| -> Vec<String> {
                let own = [element.text("B"), element.text("A")];
                own.into_iter()
                    .flatten()
                    .map(str::to_owned)
                    .chain(of_field.clone())
                    .collect()
            };
            for group in field.each("GGP") {
                for pattern in group
                    .each("GPN")
                    .filter(|pattern| pattern.text("C") == Some(AB_LINE))
                {
                    for line in pattern
                        .each("LSG")
                        .filter(|line| line.text("A") == Some(GUIDANCE))
                    {
                        let mut names = names(pattern);
                        names.extend(group.text("B").map(str::to_owned));
                        lines.push((line, names));
                    }
                }
            }
            for line in field
                .each("LSG")
                .filter(|line| line.text("A") == Some(GUIDANCE))
            {
                lines.push((line, names(line)));
            }
        }
        let elements: Vec<&Element> = lines.iter().map(|(line, _)| *line).collect();
        let line = self.the_one(&elements, "A-B line", |line| {
            let found = lines.iter().find(|(known, _)| std::ptr::eq(*known, line));
            let names = found.map(|(_, names)| names.clone()).unwrap_or_default();
            (
                names
                    .first()
                    .cloned()
                    .unwrap_or_else(|| "no name".to_owned()),
                names,
            )
        })?;
        let points = self.points(line)?;
        let end = |kind: u8| points.iter().find(|point| point.kind == Some(kind));
        let ends = match (end(POINT_A), end(POINT_B), &points[..]) {
            (Some(a), Some(b), [_, _]) => [a.position, b.position],
            (_, _, [a, b]) => [a.position, b.position],
            _ => {
                let message = format!(
                    "expected a straight line from A to B, found {} points",
                    points.len()
                );
                return Err(Problem::new(file, message)
                    .hint("choose a straight line, or draw one as GeoJSON"));
            }
        };
        let is_known = |end: &[f64; 2]| end[0].abs() <= 180.0 && end[1].abs() <= 90.0;
        if !ends.iter().all(is_known) {
            return Err(
                Problem::new(file, "expected longitude and latitude in degrees")
                    .hint("the file was edited or is damaged: export it again"),
            );
        }
        Ok(ends)
    }
}
