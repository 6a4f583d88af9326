//! Reports on paper: the PDF says what the page says, on the paper asked for, and its first page holds the answer,
//! the odds, the money and one map. PDFs are read back by pypdf, a library from outside.

use checkstrip_acceptance::{Folder, SmallFarm, oracle, python, season_of_fields};
use serde_json::Value;

/// Letters and figures alone: where lines and columns break differs between page and paper.
fn bare(text: &str) -> String {
    text.chars()
        .filter(|letter| letter.is_alphanumeric())
        .collect()
}

/// What a page of HTML says outside its style and pictures, piece by piece.
fn said_by_page(html: &str) -> Vec<String> {
    let body = html.split_once("<body>").expect("a body").1;
    let mut pieces = Vec::new();
    let mut in_svg = false;
    for part in body.split('<').skip(1) {
        let (tag, text) = part.split_once('>').expect("a tag ends");
        in_svg = match tag.split([' ', '/']).find(|name| !name.is_empty()) {
            Some("svg") => !tag.starts_with('/'),
            _ => in_svg,
        };
        let text = text
            .replace("&amp;", "&")
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&quot;", "\"")
            .replace("&#x27;", "'")
            .replace("&#x2f;", "/");
        if !in_svg && !bare(&text).is_empty() {
            pieces.push(bare(&text));
        }
    }
    pieces
}

fn pdf(folder: &Folder, file: &str) -> Option<Value> {
    let python = python()?;
    Some(oracle(&python, "pdf_text.py", [folder.join(file)]))
}

fn texts(pdf: &Value) -> Vec<String> {
    let pages = pdf["pages"].as_array().expect("pages").iter();
    pages
        .map(|page| page.as_str().expect("text").to_owned())
        .collect()
}

#[test]
fn paper_says_what_the_page_says() {
    let farm = SmallFarm::new();
    let _ = farm
        .folder
        .run(["compare", "trial.toml", "--out", "out"])
        .ended(0);
    let Some(pdf) = pdf(&farm.folder, "out/report.pdf") else {
        return;
    };
    let on_paper = bare(&texts(&pdf).concat());
    let page = farm.folder.text("out/report.html");
    let said = said_by_page(&page);
    assert!(said.len() > 200, "{}", said.len());
    for piece in &said {
        assert!(
            on_paper.contains(piece.as_str()),
            "{piece} is not on paper:\n{on_paper}"
        );
    }
    let pictures = pdf["pictures"].as_array().expect("counts").iter();
    let pictures: u64 = pictures.map(|count| count.as_u64().expect("a count")).sum();
    assert_eq!(pictures, page.matches("<img ").count() as u64);
    assert_eq!(pdf["tagged"], true);
    assert_eq!(pdf["language"], "en");
    assert_eq!(pdf["title"], "An invented small field: did it pay?");
}

/// The figures of the first page are those of the results file.
#[test]
fn the_first_page_holds_answer_odds_money_and_one_map() {
    let farm = SmallFarm::new();
    let _ = farm
        .folder
        .run(["compare", "trial.toml", "--out", "out"])
        .ended(0);
    let Some(pdf) = pdf(&farm.folder, "out/report.pdf") else {
        return;
    };
    let first = &texts(&pdf)[0];
    let results = farm.folder.json("out/results.json");
    let gain = results["comparisons"][0]["advantage_bu_ac"]
        .as_f64()
        .expect("a gain");
    let net = results["payoff"][0]["net_per_ac"].as_f64().expect("money");
    let break_even = results["payoff"][0]["break_even_bu_ac"]
        .as_f64()
        .expect("a gain");
    for figure in [
        format!("{:.1} bu/ac", gain.abs()),
        format!("${:.2}", net.abs()),
        format!("{break_even:.2} bu/ac"),
    ] {
        assert!(
            first.contains(&figure),
            "{figure} is not on the first page:\n{first}"
        );
    }
    assert!(first.contains("Odds that it paid"), "{first}");
    assert_eq!(pdf["pictures"][0], 1);
    assert!(!first.contains("The answer in full"), "{first}");
}

/// Letter is 8.5 by 11 inches (ANSI/ASME Y14.1), A4 210 by 297 mm (ISO 216); a point is 1/72 inch.
#[test]
fn paper_is_letter_or_a4() {
    let farm = SmallFarm::new();
    for (options, size) in [
        (&["--paper", "letter"][..], [612.0, 792.0]),
        (
            &["--paper", "a4"],
            [210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0],
        ),
        (&[], [612.0, 792.0]),
        (
            &["--units", "si"],
            [210.0 / 25.4 * 72.0, 297.0 / 25.4 * 72.0],
        ),
    ] {
        let order = ["compare", "trial.toml", "--out", "out"];
        let _ = farm.folder.run(order.iter().chain(options)).ended(0);
        let Some(pdf) = pdf(&farm.folder, "out/report.pdf") else {
            return;
        };
        for page in pdf["sizes"].as_array().expect("sizes") {
            for side in 0..2 {
                let found = page[side].as_f64().expect("a length");
                assert!((found - size[side]).abs() < 0.1, "{options:?}: {page}");
            }
        }
    }
}

#[test]
fn a_season_is_printed_too() {
    let fields = ["hill", "home", "river"];
    let folder = season_of_fields(&fields);
    // The same harvest three times over would be one trial.
    for (more, field) in fields.iter().enumerate() {
        let log = format!("{field}/log.csv");
        folder.put(&log, folder.text(&log) + &"\n".repeat(more));
    }
    let _ = folder
        .run(["batch", "SEASON.toml", "--out", "out"])
        .ended(0);
    for report in ["out/report", "out/pooled/soybean/report"] {
        let Some(pdf) = pdf(&folder, &format!("{report}.pdf")) else {
            return;
        };
        let on_paper = bare(&texts(&pdf).concat());
        for piece in said_by_page(&folder.text(&format!("{report}.html"))) {
            assert!(
                on_paper.contains(&piece),
                "{piece} is not on paper:\n{on_paper}"
            );
        }
    }
}
