//! The page of `checkstrip draw` in a real browser: `crates/web/page/tests` clicks, types and looks,
//! over the real binary and a small invented field. Node runs it, so its cases are those of its own
//! report; this hands over the field and passes the report on.

use checkstrip_acceptance::{SmallFarm, binary, browser};
use std::process::Command;

#[test]
fn the_page_does_what_a_grower_wants_of_it() {
    let Some((page, chromium)) = browser() else {
        return;
    };
    let farm = SmallFarm::new();
    farm.folder.put("roller.csv", farm.roller_log());
    let ran = Command::new("node")
        .current_dir(page)
        .args(["--test", "--test-reporter", "spec", "tests/page.test.mjs"])
        .env("CHECKSTRIP_BINARY", binary())
        .env("CHECKSTRIP_FARM", farm.folder.path())
        .env("CHECKSTRIP_CHROMIUM", chromium)
        .output()
        .expect("Node starts");
    let report = String::from_utf8_lossy(&ran.stdout);
    assert!(
        ran.status.success(),
        "{report}\n{}",
        String::from_utf8_lossy(&ran.stderr)
    );
    println!("{report}");
}
