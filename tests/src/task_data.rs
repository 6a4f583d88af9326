//! A log as ISO 11783-10 task data, written by the standard's layout: `TASKDATA.XML` with a field, a machine and
//! a task, and its time log as `TLG00001.XML` and `TLG00001.BIN`. Written apart from the readers, so that the two
//! check each other.

use crate::Folder;
use checkstrip_model::{Column, FieldLog};

/// Quantities of the time log: the column, the data dictionary entry, its resolution in SI.
const LOGGED: [(Column, &str, f64); 5] = [
    (Column::MassFlow, "0057", 1e-6),
    (Column::Moisture, "0063", 1e-4),
    (Column::Speed, "018D", 1e-3),
    (Column::Width, "0043", 1e-3),
    (Column::HeaderDown, "008D", 1.0),
];

/// Seconds from 1970 to 1980, in which a time log counts its days.
const TO_1980_S: f64 = 3_652.0 * 86_400.0;

/// Writes `log` into the folder `TASKDATA` of `folder`. The receiver is `behind_m` behind the header, whose places
/// the log holds, along the log's heading. A record without a reading writes nothing, so that its reader keeps the
/// last one.
///
/// # Panics
/// When the log lacks one of the quantities, or a file cannot be written.
pub fn write_task_data_log(folder: &Folder, log: &FieldLog, behind_m: f64) {
    let column = |column: Column| log.numbers(column).expect("the log has the column");
    let [time, lon, lat] = [Column::Timestamp, Column::Lon, Column::Lat].map(column);
    let (height, heading) = (column(Column::Elevation), column(Column::Heading));
    let mut binary = Vec::new();
    let mut last = [None; LOGGED.len()];
    for record in 0..log.len() {
        let seconds = time[record] - TO_1980_S;
        let day = (seconds / 86_400.0).floor();
        binary.extend((((seconds - day * 86_400.0) * 1e3).round() as u32).to_le_bytes());
        binary.extend((day as u16).to_le_bytes());
        // Metres in a degree of latitude and longitude, to a centimetre in 10 m.
        let north_m = 111_132.0 - 560.0 * (2.0 * lat[record].to_radians()).cos();
        let east_m = 111_413.0 * lat[record].to_radians().cos()
            - 94.0 * (3.0 * lat[record].to_radians()).cos();
        let (sin, cos) = heading[record].to_radians().sin_cos();
        let receiver_lat = lat[record] - behind_m * cos / north_m;
        let receiver_lon = lon[record] - behind_m * sin / east_m;
        for degrees in [receiver_lat, receiver_lon] {
            binary.extend(((degrees * 1e7).round() as i32).to_le_bytes());
        }
        binary.extend(((height[record] * 1e3).round() as i32).to_le_bytes());
        // A fixed solution, 12 satellites.
        binary.extend([4, 12]);
        let mut news = Vec::new();
        for (at, (quantity, _, resolution)) in LOGGED.iter().enumerate() {
            let value = column(*quantity)[record] / resolution;
            let value = value.is_finite().then(|| value.round() as i32);
            if value.is_some() && value != last[at] {
                last[at] = value;
                news.push(at as u8);
                news.extend(value.unwrap_or_default().to_le_bytes());
            }
        }
        binary.push((news.len() / 5) as u8);
        binary.extend(news);
    }
    let values: String = LOGGED
        .iter()
        .map(|(_, entry, _)| format!(r#"<DLV A="{entry}" B="" C="DET-2"/>"#))
        .collect();
    folder.put(
        "TASKDATA/TLG00001.XML",
        format!(
            "<?xml version=\"1.0\" encoding=\"utf-8\"?>\n<TIM A=\"\" D=\"4\">\
             <PTN A=\"\" B=\"\" C=\"\" D=\"\" G=\"\"/>{values}</TIM>\n"
        ),
    );
    folder.put("TASKDATA/TLG00001.BIN", &binary);
    let receiver_mm = (4_000.0 - behind_m * 1e3).round();
    folder.put(
        "TASKDATA/TASKDATA.XML",
        format!(
            r#"<?xml version="1.0" encoding="utf-8"?>
<ISO11783_TaskData VersionMajor="4" VersionMinor="2" ManagementSoftwareManufacturer="invented" ManagementSoftwareVersion="1" TaskControllerManufacturer="invented" TaskControllerVersion="1" DataTransferOrigin="2">
  <CTP A="CTP-1" B="Soybean"/>
  <DVC A="DVC-1" B="Invented combine" D="A00E840000000001" F="00000000000001" G="FF000000006E65">
    <DET A="DET-1" B="1" C="1" D="Combine" E="0" F="0"/>
    <DET A="DET-2" B="2" C="2" D="Header" E="1" F="1"><DOR A="11"/><DOR A="12"/></DET>
    <DET A="DET-3" B="3" C="7" D="Receiver" E="2" F="1"><DOR A="13"/><DOR A="12"/></DET>
    <DPT A="11" B="0086" C="4000"/>
    <DPT A="12" B="0087" C="0"/>
    <DPT A="13" B="0086" C="{receiver_mm}"/>
  </DVC>
  <PFD A="PFD-1" C="Invented field" D="80000" G="CTP-1"/>
  <TSK A="TSK-1" B="Soybean harvest" E="PFD-1" G="4">
    <DAN A="A00E840000000001" C="DVC-1"/>
    <TLG A="TLG00001" B="{}" C="1"/>
  </TSK>
</ISO11783_TaskData>
"#,
            binary.len()
        ),
    );
}
