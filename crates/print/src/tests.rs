//! A page of every element that reports hold, invented, set on paper.

use super::page::{Block, read};
use super::{PrintError, print};
use checkstrip_model::units::Paper;

/// A picture of one pixel.
const DOT: &str =
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNgAAAAAgABSK+kcQAAAABJRU5ErkJggg==";

fn sample() -> String {
    format!(
        r##"<!DOCTYPE html>
<html lang="es">
<head><title>An invented field: did it pay?</title>
<style class="charts">svg .axis {{ fill: #333; }}</style></head>
<body>
<div class="first"><header><h1>An invented field</h1>
<p class="about">soybean</p></header>
<section class="glance"><p class="lead">Rolled   probably
paid.</p>
<div class="facts"><div class="fact"><p class="label">Gain</p><p class="value">+2.1 bu/ac</p><p class="note">0.9 to 3.3</p></div></div>
<figure class="map"><img src="data:image/png;base64,{DOT}" alt="Map"><figcaption><strong>Strips.</strong> By treatment.</figcaption></figure>
</section></div>
<main><section class="answer"><h2>The answer</h2><p>More &amp; better.</p></section>
<section class="warnings"><h2>Mind</h2><ul><li>One thing</li><li>Another</li></ul></section>
<section><h2>Plot</h2><figure><h3>Blocks</h3>
<ul class="key"><li><svg viewBox="0 0 22 18"><circle cx="11" cy="9" r="6"/></svg>a block</li></ul>
<svg viewBox="0 0 400 100" role="img" aria-label="Blocks 1 and 2"><line x1="0" x2="400" y1="50" y2="50" stroke="black"/><text class="axis" x="20" y="40">left&nbsp;end</text></svg>
<figcaption>Each mark is a block.</figcaption></figure></section>
<section><h2>Strips</h2><div class="scroll short" role="region"><table><caption>Every strip</caption>
<thead><tr><th scope="col">Strip</th><th scope="col" class="figure">Yield</th><th scope="col">Digest</th></tr></thead>
<tbody><tr><th scope="row">1</th><td class="figure">50.1</td><td class="digest">{digest}</td></tr></tbody></table></div>
<details><summary>More</summary><p>Odds.</p></details></section></main>
<footer><p>Written by a test.</p></footer>
</body></html>"##,
        digest = "0123456789abcdef".repeat(4)
    )
}

#[test]
fn every_word_of_a_page_goes_to_paper() {
    let page = read(&sample()).unwrap();
    let json = serde_json::to_string(&page.blocks).unwrap();
    for words in [
        "Rolled probably paid.",
        "+2.1 bu/ac",
        "More & better.",
        "Another",
        "a block",
        "Blocks 1 and 2",
        "Each mark is a block.",
        "Every strip",
        "50.1",
        "Odds.",
        "Written by a test.",
    ] {
        assert!(json.contains(words), "{words} is not in {json}");
    }
    assert_eq!(page.title, "An invented field: did it pay?");
    assert_eq!(page.language, "es");
    // The map, the mark of the key and the chart.
    assert_eq!(page.pictures.len(), 3);
}

#[test]
fn a_chart_by_itself_is_svg_with_its_style() {
    let page = read(&sample()).unwrap();
    let (_, chart) = page.pictures.last().unwrap();
    let chart = std::str::from_utf8(chart).unwrap();
    assert!(
        chart.starts_with("<svg xmlns=\"http://www.w3.org/2000/svg\""),
        "{chart}"
    );
    assert!(chart.contains("<style>svg .axis"), "{chart}");
    assert!(
        chart.contains("left\u{a0}end") && chart.contains("viewBox"),
        "{chart}"
    );
}

#[test]
fn a_page_becomes_the_same_pdf_every_time() {
    for paper in [Paper::Letter, Paper::A4] {
        let pdf = print(&sample(), paper).unwrap();
        assert!(pdf.starts_with(b"%PDF-"));
        assert_eq!(pdf, print(&sample(), paper).unwrap());
    }
}

#[test]
fn what_is_not_known_is_refused() {
    let refused = |body: &str| match read(&format!("<html><body>{body}</body></html>")) {
        Err(PrintError::Unknown(what)) => what,
        other => panic!("{other:?}"),
    };
    assert_eq!(refused("<video></video>"), "an element <video>");
    assert_eq!(refused("lost"), "bare text: \"lost\"");
    assert_eq!(refused("<figure></figure>"), "a figure without a picture");
}

#[test]
fn blocks_keep_their_order() {
    let page = read("<html><body><h2>A</h2><p>b</p><ul><li>c</li></ul></body></html>").unwrap();
    let kinds: Vec<&str> = page
        .blocks
        .iter()
        .map(|block| match block {
            Block::Heading { .. } => "heading",
            Block::Paragraph { .. } => "paragraph",
            Block::List { .. } => "list",
            _ => "other",
        })
        .collect();
    assert_eq!(kinds, ["heading", "paragraph", "list"]);
}
