//! Problems of single records, kept few: a column of words where numbers belong would otherwise
//! report every row of the file.

use checkstrip_model::Problem;

/// How many problems of single records a file reports before it only counts them.
const KEPT: usize = 20;

/// The first problems of a file, and how many there were.
#[derive(Debug, Clone, Default)]
pub(crate) struct ProblemList {
    kept: Vec<Problem>,
    total: usize,
}

impl ProblemList {
    /// Adds a problem; it is only put together when it will be kept.
    pub(crate) fn push(&mut self, problem: impl FnOnce() -> Problem) {
        self.total += 1;
        if self.kept.len() < KEPT {
            self.kept.push(problem());
        }
    }

    /// Adds the problems of a later part of the file, whose rows start after `rows_before` others.
    pub(crate) fn append(&mut self, later: ProblemList, rows_before: u32) {
        self.total += later.total;
        let room = KEPT - self.kept.len();
        self.kept
            .extend(later.kept.into_iter().take(room).map(|mut problem| {
                problem.row = problem.row.map(|row| row + rows_before);
                problem
            }));
    }

    /// Moves all rows by `rows_before`.
    pub(crate) fn move_rows(&mut self, rows_before: u32) {
        let alone = std::mem::take(self);
        self.append(alone, rows_before);
    }

    /// The problems in row order, with a last one that counts those left out.
    pub(crate) fn finish(mut self, file: &str) -> Vec<Problem> {
        self.kept.sort_by_key(|problem| problem.row);
        let left_out = self.total - self.kept.len();
        if left_out > 0 {
            let message = format!(
                "{} more problems of the same kinds are not listed ({} in all)",
                left_out, self.total
            );
            self.kept.push(
                Problem::new(file, message)
                    .hint("mend the ones above first: they often share one cause"),
            );
        }
        self.kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_are_kept_and_the_rest_counted() {
        let mut list = ProblemList::default();
        for row in 0..50 {
            list.push(|| Problem::new("log.csv", "odd").at_row(row));
        }
        let problems = list.finish("log.csv");
        assert_eq!(problems.len(), KEPT + 1);
        assert!(problems[KEPT].message.starts_with("30 more problems"));
    }
}
