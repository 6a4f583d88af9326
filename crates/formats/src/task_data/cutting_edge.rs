//! From the receiver to the cutting edge: a time log holds where the receiver was; where its machine says
//! how far apart the two are, by itself or over the machines it is hitched to, positions are moved along
//! and across the direction of travel.
//!
//! # Source
//! ISO 11783-10, device geometry: offsets of device elements are from the device's reference point, x
//! forwards, y to the right, in millimetres; a connection (CNN) names two connectors, which are at one
//! place (from memory; the entries themselves are in the data dictionary).

use checkstrip_model::Problem;
use checkstrip_spatial::local_plane::LocalPlane;

use super::device::{Device, DeviceElement, ElementKind, OFFSET_X, OFFSET_Y};

/// How far the cutting edge is ahead and to the right of the receiver, m.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(crate) struct Offset {
    pub(crate) forward_m: f64,
    pub(crate) right_m: f64,
}

/// No combine has its receiver farther from the cutting edge, m.
const FARTHEST_M: f64 = 30.0;

/// Sections whose offsets forwards differ by more stand on no one cutting edge, mm.
const ONE_EDGE_MM: i32 = 1_000;

/// How many machines a train of them has, one hitched to the next.
const LONGEST_TRAIN: usize = 8;

/// The machines of a task and what hitches them to each other.
pub(crate) struct Machines<'m> {
    pub(crate) devices: &'m [Device],
    /// Pairs of device elements, mostly connectors, that are at one place.
    pub(crate) connections: Vec<[&'m str; 2]>,
    /// Offsets that stand in the log itself.
    pub(crate) logged: &'m dyn Fn(&str, u16) -> Option<i32>,
}

impl Machines<'_> {
    /// What the machines say about receiver and cutting edge; `Err` says why nothing can be moved. `width_elements`
    /// are the elements of the device at `device` that the working width comes from; the receiver is its own or, where
    /// it has none, that of the nearest machine it is hitched to. Along the way every machine is taken to be straight
    /// behind or before the other.
    pub(crate) fn offset(
        &self,
        device: Option<usize>,
        width_elements: &[String],
    ) -> Result<Offset, String> {
        let Some(device) = device else {
            return Err("the machine that logged it is not described".to_owned());
        };
        let receiver = self.receiver_from(device)?;
        let edges: Vec<[i32; 2]> = self.devices[device]
            .elements
            .iter()
            .filter(|element| width_elements.contains(&element.id))
            .filter_map(|element| self.place(element))
            .collect();
        let (Some(low), Some(high)) = (
            edges.iter().map(|edge| edge[0]).min(),
            edges.iter().map(|edge| edge[0]).max(),
        ) else {
            return Err("the machine does not say where its cutting edge is".to_owned());
        };
        if high.saturating_sub(low) > ONE_EDGE_MM {
            return Err("its sections do not stand in one line".to_owned());
        }
        let rights = edges.iter().map(|edge| edge[1]);
        let middle = |low: i32, high: i32| (f64::from(low) + f64::from(high)) / 2.0;
        let right = middle(rights.clone().min().unwrap_or(0), rights.max().unwrap_or(0));
        let found = Offset {
            forward_m: (middle(low, high) - receiver[0]) / 1e3,
            right_m: (right - receiver[1]) / 1e3,
        };
        match found.forward_m.hypot(found.right_m) <= FARTHEST_M {
            true => Ok(found),
            false => Err(format!(
                "the machine says {:.1} m forwards and {:.1} m to the right, which no machine has",
                found.forward_m, found.right_m
            )),
        }
    }

    /// How far `element` is before and to the right of its machine's reference point, mm; `None` when it does not
    /// say how far before.
    fn place(&self, element: &DeviceElement) -> Option<[i32; 2]> {
        let of = |entry: u16| {
            element
                .property(entry)
                .or_else(|| (self.logged)(&element.id, entry))
        };
        Some([of(OFFSET_X)?, of(OFFSET_Y).unwrap_or(0)])
    }

    /// How far the receiver is before and to the right of the reference point of the device at `device`, mm.
    fn receiver_from(&self, device: usize) -> Result<[f64; 2], String> {
        // Machines that were reached: each with the place of its reference point as seen from the first.
        let mut train = vec![(device, [0.0; 2])];
        let mut lacking = None;
        let mut at = 0;
        while let Some(&(machine, from)) = train.get(at) {
            at += 1;
            let receivers: Vec<[i32; 2]> = self.devices[machine]
                .elements
                .iter()
                .filter(|element| element.kind == ElementKind::Navigation)
                .filter_map(|element| self.place(element))
                .collect();
            match receivers[..] {
                [] => {}
                [[forward, right]] => {
                    return Ok([from[0] + f64::from(forward), from[1] + f64::from(right)]);
                }
                _ => return Err(format!("the machine names {} receivers", receivers.len())),
            }
            for connection in &self.connections {
                for [own, other] in [*connection, [connection[1], connection[0]]] {
                    let Some(own) = self.devices[machine].element(own) else {
                        continue;
                    };
                    let next = (0..self.devices.len())
                        .find_map(|at| Some((at, self.devices[at].element(other)?)));
                    let Some((next, other)) = next else { continue };
                    if train.iter().any(|(known, _)| *known == next) || train.len() == LONGEST_TRAIN
                    {
                        continue;
                    }
                    let (Some(own), Some(other)) = (self.place(own), self.place(other)) else {
                        lacking = Some(format!(
                            "{} and {} are connected, but one does not say where",
                            self.devices[machine].shown(),
                            self.devices[next].shown()
                        ));
                        continue;
                    };
                    let shift =
                        |axis: usize| from[axis] + f64::from(own[axis]) - f64::from(other[axis]);
                    train.push((next, [shift(0), shift(1)]));
                }
            }
        }
        Err(lacking.unwrap_or_else(|| match train.len() {
            1 => "the machine does not say where its receiver is".to_owned(),
            _ => "neither the machine nor those it is connected to say where the receiver is"
                .to_owned(),
        }))
    }
}

/// The direction of travel is taken over at least this far before and behind, m: a receiver's jitter of
/// 5 cm then turns it by less than a degree.
const REACH_M: f64 = 2.0;
/// Records looked at before and behind.
const MOST_LOOKED_AT: usize = 30;
/// Records farther apart in time are not of one drive, s.
const ONE_DRIVE_S: f64 = 10.0;

/// Moves positions of one time log by `offset`; returns how many stayed because no direction of travel was
/// known. Where the machine stood, it is the direction it came from.
///
/// # Errors
/// When the positions are on no plane.
pub(crate) fn move_to_edge(
    file: &str,
    time_s: &[f64],
    lon: &mut [f64],
    lat: &mut [f64],
    offset: Offset,
) -> Result<usize, Problem> {
    let is_known =
        |[lon, lat]: &[f64; 2]| (-180.0..=180.0).contains(lon) && (-90.0..=90.0).contains(lat);
    let mut points: Vec<[f64; 2]> = lon
        .iter()
        .zip(lat.iter())
        .map(|(&lon, &lat)| [lon, lat])
        .map(|point| {
            if is_known(&point) {
                point
            } else {
                [f64::NAN; 2]
            }
        })
        .collect();
    let Some(&[lon_0, lat_0]) = points.iter().find(|point| is_known(point)) else {
        return Ok(points.len());
    };
    let refuse = |error: checkstrip_spatial::crs::CrsError| Problem::new(file, error.to_string());
    let plane = LocalPlane::around(lon_0, lat_0).map_err(refuse)?;
    plane.points_to_plane(&mut points).map_err(refuse)?;
    let mut moved = Vec::with_capacity(points.len());
    let mut stayed = 0;
    let mut last: Option<[f64; 2]> = None;
    for at in 0..points.len() {
        let here = points[at];
        if at > 0 && !is_one_drive(time_s, at - 1, at) {
            last = None;
        }
        let before = reach(&points, time_s, at, (0..at).rev());
        let behind = reach(&points, time_s, at, at + 1..points.len());
        let way = match (before, behind) {
            (None, None) => None,
            (before, behind) => {
                let (from, to) = (before.unwrap_or(here), behind.unwrap_or(here));
                let (east, north) = (to[0] - from[0], to[1] - from[1]);
                let length = east.hypot(north);
                // Forth and back along one line gives no direction.
                (length >= REACH_M).then(|| [east / length, north / length])
            }
        };
        last = way.or(last);
        match last {
            Some([east, north]) => moved.push([
                here[0] + offset.forward_m * east + offset.right_m * north,
                here[1] + offset.forward_m * north - offset.right_m * east,
            ]),
            None => {
                stayed += usize::from(here[0].is_finite());
                moved.push(here);
            }
        }
    }
    plane.points_to_lon_lat(&mut moved).map_err(refuse)?;
    for (at, [x, y]) in moved.into_iter().enumerate() {
        // What the plane cannot hold stays as it was.
        if x.is_finite() && y.is_finite() {
            (lon[at], lat[at]) = (x, y);
        }
    }
    Ok(stayed)
}

fn is_one_drive(time_s: &[f64], earlier: usize, later: usize) -> bool {
    (0.0..=ONE_DRIVE_S).contains(&(time_s[later] - time_s[earlier]))
}

/// The first position along `others` that is far enough from the one at `at`, in the same drive.
fn reach(
    points: &[[f64; 2]],
    time_s: &[f64],
    at: usize,
    others: impl Iterator<Item = usize>,
) -> Option<[f64; 2]> {
    let mut near = at;
    for other in others.take(MOST_LOOKED_AT) {
        if !is_one_drive(time_s, near.min(other), near.max(other)) {
            return None;
        }
        near = other;
        let (east, north) = (
            points[other][0] - points[at][0],
            points[other][1] - points[at][1],
        );
        if east.hypot(north) >= REACH_M {
            return Some(points[other]);
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    /// North at 2 m/s, one record a second, from 43.2 N 93.1 W.
    fn drive(records: usize) -> (Vec<f64>, Vec<f64>, Vec<f64>) {
        let plane = LocalPlane::around(-93.1, 43.2).unwrap();
        let north: Vec<f64> = (0..records).map(|at| 2.0 * at as f64).collect();
        let (lon, lat) = plane.to_lon_lat(&vec![0.0; records], &north).unwrap();
        ((0..records).map(|at| at as f64).collect(), lon, lat)
    }

    fn in_plane(lon: &[f64], lat: &[f64]) -> (Vec<f64>, Vec<f64>) {
        LocalPlane::around(-93.1, 43.2)
            .unwrap()
            .to_plane(lon, lat)
            .unwrap()
    }

    #[test]
    fn positions_move_forwards_and_to_the_right() {
        let (time, mut lon, mut lat) = drive(20);
        let offset = Offset {
            forward_m: 3.5,
            right_m: 0.25,
        };
        let stayed = move_to_edge("set", &time, &mut lon, &mut lat, offset).unwrap();
        let (east, north) = in_plane(&lon, &lat);
        assert_eq!(stayed, 0);
        for at in 0..20 {
            assert!((east[at] - 0.25).abs() < 1e-4, "{}", east[at]);
            assert!(
                (north[at] - (2.0 * at as f64 + 3.5)).abs() < 1e-4,
                "{}",
                north[at]
            );
        }
    }

    #[test]
    fn without_a_direction_positions_stay() {
        let (_, mut lon, mut lat) = drive(3);
        let offset = Offset {
            forward_m: 3.5,
            right_m: 0.0,
        };
        let alone = [0.0, 100.0, 200.0];
        let before = (lon.clone(), lat.clone());
        assert_eq!(
            move_to_edge("set", &alone, &mut lon, &mut lat, offset).unwrap(),
            3
        );
        let (east, north) = in_plane(&lon, &lat);
        let (east_before, north_before) = in_plane(&before.0, &before.1);
        for at in 0..3 {
            assert!((east[at] - east_before[at]).hypot(north[at] - north_before[at]) < 1e-6);
        }
        let mut nowhere = [f64::NAN];
        assert_eq!(
            move_to_edge("set", &[0.0], &mut nowhere.clone(), &mut nowhere, offset).unwrap(),
            1
        );
    }
}
