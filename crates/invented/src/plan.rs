//! What an invented field is to be like. The defaults are the field of `checkstrip demo`.

/// One treatment of the trial.
#[derive(Debug, Clone, PartialEq)]
pub struct Treatment {
    /// Its name in the strips file.
    pub name: String,
    /// Yield it adds to what the ground gives, kg/ha at market moisture; 0 for the check.
    pub gain_kg_ha: f64,
    /// What it adds more for every metre that the ground lies above the field's mean height, kg/ha.
    pub gain_per_m_kg_ha: f64,
}

impl Treatment {
    /// A treatment that adds `gain_kg_ha`, the same everywhere.
    pub fn new(name: &str, gain_kg_ha: f64) -> Treatment {
        Treatment {
            name: name.to_owned(),
            gain_kg_ha,
            gain_per_m_kg_ha: 0.0,
        }
    }
}

/// One combine of the field.
#[derive(Debug, Clone, PartialEq)]
pub struct Combine {
    /// Its name in the log.
    pub name: String,
    /// What its sensor reads over what there is: 1.03 for a machine that reads 3 % too much.
    pub reads: f64,
}

impl Combine {
    /// A combine whose sensor reads `reads` times what there is.
    pub fn new(name: &str, reads: f64) -> Combine {
        Combine {
            name: name.to_owned(),
            reads,
        }
    }
}

/// How many faults of each kind are put into a log.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FaultCounts {
    /// Jumps of the position, each two records long and 12 m to 40 m wide.
    pub position_jumps: usize,
    /// Records whose flow reads zero in the middle of a pass.
    pub zero_flows: usize,
    /// Records whose flow reads several times too much.
    pub flow_spikes: usize,
    /// Records whose moisture reads 0 % or 45 %.
    pub bad_moistures: usize,
    /// Stops of 20 s to 40 s in the middle of a pass with the header down.
    pub stops: usize,
    /// Records written twice.
    pub repeated_rows: usize,
}

impl FaultCounts {
    /// A log without a fault.
    pub const NONE: FaultCounts = FaultCounts {
        position_jumps: 0,
        zero_flows: 0,
        flow_spikes: 0,
        bad_moistures: 0,
        stops: 0,
        repeated_rows: 0,
    };
}

/// The plan of one invented field: its ground, its trial, its harvest and its log.
///
/// The field is a rectangle: `headland_laps` around it, then back-and-forth passes side by side, the
/// last of which finds only part of its width still standing. Strips run the whole length of the
/// passes, side by side in blocks around the middle; each block holds every treatment once, in random
/// order.
#[derive(Debug, Clone, PartialEq)]
pub struct FieldPlan {
    /// Names the field: the same plan and seed give the same bytes.
    pub seed: u64,
    /// Back-and-forth passes, at least 2.
    pub passes: usize,
    /// Length of a pass between the headlands, m.
    pub pass_length_m: f64,
    /// Cutting width of the header, m.
    pub header_width_m: f64,
    /// Ground that a swath shares with the one before, m.
    pub swath_overlap_m: f64,
    /// Laps around the field before the passes, at least 1.
    pub headland_laps: usize,
    /// Share of the last pass's width that is still standing, above 0 and at most 1.
    pub last_pass_share: f64,
    /// Direction of the passes, degrees clockwise from north.
    pub turn_deg: f64,

    /// Width of a strip, m.
    pub strip_width_m: f64,
    /// How far the strips' edges lie east of those of the passes, m; 0 puts whole swaths into strips
    /// whose width is a multiple of the swath's.
    pub strip_offset_m: f64,
    /// Blocks, each with every treatment once.
    pub blocks: usize,
    /// The treatments, the check first.
    pub treatments: Vec<Treatment>,
    /// Standard deviation of what a strip yields more or less than its ground and treatment give,
    /// kg/ha: whatever else was done to it as a whole, such as the day it was planted on.
    pub strip_luck_kg_ha: f64,

    /// Mean yield of the ground at market moisture, without any treatment, kg/ha.
    pub mean_yield_kg_ha: f64,
    /// Standard deviation of the ground's yield over its mean.
    pub yield_variation: f64,
    /// Distance at which two places have little to do with each other, m: the practical range of an
    /// exponential covariance, where it is down to 5 %.
    pub yield_range_m: f64,
    /// Mean grain moisture, percent.
    pub mean_moisture_pct: f64,
    /// Moisture at which yield is counted, percent.
    pub market_moisture_pct: f64,

    /// Time from the cutting edge to the sensor, s.
    pub transport_delay_s: f64,
    /// Time constant of the mixing on the way, s; the grain is late by both together on average.
    pub smear_s: f64,
    /// Usual speed in a pass, m/s.
    pub speed_m_s: f64,
    /// Noise of the flow reading, standard deviation over the reading.
    pub flow_noise: f64,
    /// Noise of the moisture reading, standard deviation in percent moisture.
    pub moisture_noise_pct: f64,
    /// Noise of the position, standard deviation in m: half of it drifts over minutes.
    pub position_noise_m: f64,
    /// What goes wrong.
    pub faults: FaultCounts,
    /// The combines, which take the passes in turn; one clock stands for all of them.
    pub combines: Vec<Combine>,
    /// Passes that a combine cuts before it is the next one's turn, at least 1.
    pub passes_in_turn: usize,
}

impl Default for FieldPlan {
    /// A soybean field of 160 acres (65 ha) cut with a 30 ft header, with eight blocks of 60 ft
    /// strips, rolled against check, where rolling adds 1 bu/ac (67.25 kg/ha).
    fn default() -> FieldPlan {
        FieldPlan {
            seed: 2026,
            passes: 85,
            pass_length_m: 768.0,
            header_width_m: 9.144,
            swath_overlap_m: 0.0,
            headland_laps: 2,
            last_pass_share: 0.45,
            turn_deg: 1.5,
            strip_width_m: 18.288,
            strip_offset_m: 0.0,
            blocks: 8,
            treatments: vec![
                Treatment::new("check", 0.0),
                Treatment::new("rolled", 67.25),
            ],
            strip_luck_kg_ha: 0.0,
            mean_yield_kg_ha: 3_700.0,
            yield_variation: 0.11,
            yield_range_m: 60.0,
            mean_moisture_pct: 12.6,
            market_moisture_pct: 13.0,
            transport_delay_s: 11.0,
            smear_s: 2.0,
            speed_m_s: 2.1,
            flow_noise: 0.03,
            moisture_noise_pct: 0.2,
            position_noise_m: 0.03,
            faults: FaultCounts {
                position_jumps: 8,
                zero_flows: 12,
                flow_spikes: 12,
                bad_moistures: 6,
                stops: 3,
                repeated_rows: 8,
            },
            combines: vec![Combine::new("combine 1", 1.0)],
            passes_in_turn: 1,
        }
    }
}

impl FieldPlan {
    /// Distance between the lines of two neighbouring passes, m.
    pub fn swath_step_m(&self) -> f64 {
        self.header_width_m - self.swath_overlap_m
    }

    /// Width of the headland, m.
    pub fn headland_m(&self) -> f64 {
        self.header_width_m + (self.headland_laps as f64 - 1.0) * self.swath_step_m()
    }

    /// Size of the field across and along the passes, m.
    pub fn size_m(&self) -> [f64; 2] {
        let inner = (self.passes as f64 - 1.0) * self.swath_step_m()
            + self.last_pass_share * self.header_width_m;
        [
            inner + 2.0 * self.headland_m(),
            self.pass_length_m + 2.0 * self.headland_m(),
        ]
    }

    /// The place among the combines of the one that cuts `pass`, from 1.
    pub fn combine_of(&self, pass: u32) -> usize {
        (pass.max(1) as usize - 1) / self.passes_in_turn.max(1) % self.combines.len().max(1)
    }

    /// Checks that such a field can be.
    ///
    /// # Errors
    /// [`InventedError::Plan`] with what is wrong.
    pub(crate) fn check(&self) -> Result<(), InventedError> {
        let refuse = |message: String| Err(InventedError::Plan { message });
        let positive = [
            ("pass length", self.pass_length_m),
            ("header width", self.header_width_m),
            (
                "swath step (header width less overlap)",
                self.swath_step_m(),
            ),
            ("share of the last pass", self.last_pass_share),
            ("strip width", self.strip_width_m),
            ("mean yield", self.mean_yield_kg_ha),
            ("yield range", self.yield_range_m),
            ("speed", self.speed_m_s),
        ];
        for (name, value) in positive {
            if !(value > 0.0 && value.is_finite()) {
                return refuse(format!("the {name} must be above 0, found {value}"));
            }
        }
        let not_negative = [
            ("swath overlap", self.swath_overlap_m),
            ("variation of the yield", self.yield_variation),
            ("luck of the strips", self.strip_luck_kg_ha),
            ("transport delay", self.transport_delay_s),
            ("smear", self.smear_s),
            ("noise of the flow", self.flow_noise),
            ("noise of the moisture", self.moisture_noise_pct),
            ("noise of the position", self.position_noise_m),
        ];
        for (name, value) in not_negative {
            if !(value >= 0.0 && value.is_finite()) {
                return refuse(format!("the {name} must be 0 or more, found {value}"));
            }
        }
        if self.passes < 2 || self.headland_laps < 1 || self.treatments.is_empty() {
            return refuse("a field needs 2 passes, 1 headland lap and 1 treatment".to_owned());
        }
        let reads = |combine: &Combine| combine.reads > 0.0 && combine.reads.is_finite();
        if self.combines.is_empty() || self.passes_in_turn < 1 || !self.combines.iter().all(reads) {
            return refuse(
                "a field needs a combine, one pass at least before the next one's turn, and sensors that read \
                 something"
                    .to_owned(),
            );
        }
        if self.last_pass_share > 1.0 {
            return refuse(format!(
                "the last pass cannot find {} of its width standing",
                self.last_pass_share
            ));
        }
        if self.pass_length_m < 40.0 {
            return refuse(format!(
                "a pass of {} m is too short to drive: give 40 m or more",
                self.pass_length_m
            ));
        }
        let needed = self.strip_width_m * (self.blocks * self.treatments.len()) as f64
            + self.strip_offset_m.abs();
        let there = self.passes as f64 * self.swath_step_m() - self.header_width_m;
        if needed > there {
            return refuse(format!(
                "{} blocks of {} strips need {needed:.0} m across, and {} passes give {there:.0} m: \
                 plan more passes or fewer blocks",
                self.blocks,
                self.treatments.len(),
                self.passes
            ));
        }
        Ok(())
    }
}

/// What can go wrong when a field is invented.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum InventedError {
    /// Such a field cannot be.
    #[error("this field cannot be invented: {message}")]
    Plan {
        /// What is wrong, and what to do.
        message: String,
    },
    /// A file of the season could not be written.
    #[error("{path} could not be written: {source}; choose another folder with --out")]
    Write {
        /// The file or folder.
        path: String,
        /// What the system said.
        source: std::io::Error,
    },
}
