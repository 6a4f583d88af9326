//! A page of HTML sorted into what is set on paper: blocks one below the other, and the pictures they show. Only
//! what this program's pages hold is known; anything else is refused, so that nothing is lost on the way to paper.

use crate::PrintError;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use scraper::{ElementRef, Html, Node, Selector};
use serde::Serialize;

/// A page ready to be set.
#[derive(Debug, Serialize)]
pub(crate) struct Page {
    pub(crate) title: String,
    pub(crate) language: String,
    pub(crate) blocks: Vec<Block>,
    /// Files that the blocks name.
    #[serde(skip)]
    pub(crate) pictures: Vec<(String, Vec<u8>)>,
}

/// Something that stands below what comes before it.
#[derive(Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub(crate) enum Block {
    Heading {
        level: u8,
        text: Vec<Run>,
    },
    Paragraph {
        class: String,
        text: Vec<Run>,
    },
    List {
        items: Vec<Vec<Run>>,
    },
    Table {
        caption: String,
        head: Vec<Cell>,
        rows: Vec<Vec<Cell>>,
    },
    Figure {
        class: String,
        title: String,
        key: Vec<KeyEntry>,
        picture: String,
        /// What it shows, for whoever cannot see it.
        says: String,
        caption: Vec<Run>,
    },
    /// Blocks that belong together, such as the answer in its frame.
    Group {
        class: String,
        body: Vec<Block>,
    },
}

/// Letters of one weight.
#[derive(Debug, PartialEq, Serialize)]
pub(crate) struct Run {
    text: String,
    strong: bool,
}

/// A cell of a table; `class` says whether it holds a figure or a digest.
#[derive(Debug, PartialEq, Serialize)]
pub(crate) struct Cell {
    text: String,
    class: String,
}

/// A mark and what it stands for.
#[derive(Debug, PartialEq, Serialize)]
pub(crate) struct KeyEntry {
    picture: String,
    label: Vec<Run>,
}

/// Reads a page.
pub(crate) fn read(html: &str) -> Result<Page, PrintError> {
    let document = Html::parse_document(html);
    let root = document.root_element();
    let mut reader = Reader {
        chart_style: all(root, "style.charts")
            .map(|style| style.text().collect::<String>())
            .collect(),
        pictures: Vec::new(),
    };
    let body = all(root, "body").next().unwrap_or(root);
    let blocks = reader.blocks(body)?;
    Ok(Page {
        title: all(root, "head > title").map(words).collect(),
        language: root.attr("lang").unwrap_or("en").to_owned(),
        blocks,
        pictures: reader.pictures,
    })
}

struct Reader {
    /// The style sheet of the charts, which a picture that stands alone needs with it.
    chart_style: String,
    pictures: Vec<(String, Vec<u8>)>,
}

impl Reader {
    fn blocks(&mut self, parent: ElementRef) -> Result<Vec<Block>, PrintError> {
        let mut blocks = Vec::new();
        for child in parent.children() {
            if let Node::Text(text) = child.value()
                && !text.trim().is_empty()
            {
                return Err(PrintError::Unknown(format!("bare text: {:?}", text.trim())));
            }
            if let Some(element) = ElementRef::wrap(child) {
                self.block(element, &mut blocks)?;
            }
        }
        Ok(blocks)
    }

    fn block(&mut self, element: ElementRef, blocks: &mut Vec<Block>) -> Result<(), PrintError> {
        let class = || element.attr("class").unwrap_or_default().to_owned();
        match element.value().name() {
            name @ ("h1" | "h2" | "h3") => blocks.push(Block::Heading {
                level: name.as_bytes()[1] - b'0',
                text: runs(element),
            }),
            "summary" => blocks.push(Block::Heading {
                level: 4,
                text: runs(element),
            }),
            "p" => blocks.push(Block::Paragraph {
                class: class(),
                text: runs(element),
            }),
            "ul" => blocks.push(Block::List {
                items: all(element, "li").map(runs).collect(),
            }),
            "table" => blocks.push(table(element)),
            "figure" => {
                let figure = self.figure(element)?;
                blocks.push(figure);
            }
            "header" | "main" | "footer" | "section" | "div" | "details" => {
                let body = self.blocks(element)?;
                match element.attr("class") {
                    Some(class) if !class.contains("scroll") => blocks.push(Block::Group {
                        class: class.to_owned(),
                        body,
                    }),
                    _ => blocks.extend(body),
                }
            }
            other => return Err(PrintError::Unknown(format!("an element <{other}>"))),
        }
        Ok(())
    }

    fn figure(&mut self, figure: ElementRef) -> Result<Block, PrintError> {
        let mut key = Vec::new();
        for entry in all(figure, ".key > li") {
            key.push(KeyEntry {
                picture: self.drawing(entry)?,
                label: runs(entry),
            });
        }
        let (picture, says) = match all(figure, "img").next() {
            Some(image) => (
                self.image(image)?,
                image.attr("alt").unwrap_or_default().to_owned(),
            ),
            None => {
                let chart = all(figure, "svg[role=img]").next();
                let says = chart.and_then(|chart| chart.attr("aria-label"));
                (self.drawing(figure)?, says.unwrap_or_default().to_owned())
            }
        };
        Ok(Block::Figure {
            class: figure.attr("class").unwrap_or_default().to_owned(),
            title: all(figure, "h3").map(words).collect(),
            key,
            picture,
            says,
            caption: all(figure, "figcaption").flat_map(runs).collect(),
        })
    }

    /// The PNG file of an image.
    fn image(&mut self, image: ElementRef) -> Result<String, PrintError> {
        let data = image.attr("src").unwrap_or_default();
        let Some(data) = data.strip_prefix("data:image/png;base64,") else {
            return Err(PrintError::Unknown("an image that is no PNG".to_owned()));
        };
        let bytes = STANDARD.decode(data)?;
        Ok(self.add("png", bytes))
    }

    /// The drawing that `parent` shows, as a file of its own: the last one, since a key stands before its chart.
    fn drawing(&mut self, parent: ElementRef) -> Result<String, PrintError> {
        let Some(drawing) = all(parent, "svg").last() else {
            return Err(PrintError::Unknown("a figure without a picture".to_owned()));
        };
        // A page names no namespace, and writes a space that keeps words together as HTML does.
        let text = drawing.html().replace("&nbsp;", "\u{a0}");
        let opening = "<svg xmlns=\"http://www.w3.org/2000/svg\"";
        let text = text.replacen("<svg", opening, 1);
        let (tag, inside) = text.split_at(text.find('>').map_or(text.len(), |end| end + 1));
        let style = &self.chart_style;
        let file = format!("{tag}<style>{style}</style>{inside}");
        Ok(self.add("svg", file.into_bytes()))
    }

    fn add(&mut self, extension: &str, bytes: Vec<u8>) -> String {
        if let Some((name, _)) = self.pictures.iter().find(|(_, held)| *held == bytes) {
            return name.clone();
        }
        let name = format!("{}.{extension}", self.pictures.len() + 1);
        self.pictures.push((name.clone(), bytes));
        name
    }
}

fn table(table: ElementRef) -> Block {
    let cells = |row: ElementRef| -> Vec<Cell> {
        row.child_elements()
            .map(|cell| Cell {
                text: words(cell),
                class: cell.attr("class").unwrap_or_default().to_owned(),
            })
            .collect()
    };
    Block::Table {
        caption: all(table, "caption").map(words).collect(),
        head: all(table, "thead > tr").flat_map(cells).collect(),
        rows: all(table, "tbody > tr").map(cells).collect(),
    }
}

/// The elements inside that a selector finds.
fn all<'a>(element: ElementRef<'a>, selector: &str) -> impl Iterator<Item = ElementRef<'a>> {
    // A selector of this program that is wrong finds nothing, which the tests would see.
    let found = Selector::parse(selector).ok();
    let found = found.map(|selector| element.select(&selector).collect::<Vec<_>>());
    found.unwrap_or_default().into_iter()
}

/// The text inside, white space as a browser shows it.
fn words(element: ElementRef) -> String {
    let mut text = String::new();
    for run in runs(element) {
        text.push_str(&run.text);
    }
    text
}

/// The text inside with its weights, white space as a browser shows it; a drawing says nothing here.
fn runs(element: ElementRef) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    gather(element, false, &mut runs);
    if let Some(first) = runs.first_mut() {
        first.text = first.text.trim_start_matches(is_space).to_owned();
    }
    if let Some(last) = runs.last_mut() {
        last.text = last.text.trim_end_matches(is_space).to_owned();
    }
    runs
}

fn gather(element: ElementRef, strong: bool, runs: &mut Vec<Run>) {
    for child in element.children() {
        if let Node::Text(text) = child.value() {
            let mut shown = String::new();
            for character in text.chars() {
                match is_space(character) {
                    false => shown.push(character),
                    true if shown.ends_with(' ') => {}
                    true => shown.push(' '),
                }
            }
            match runs.last_mut() {
                Some(last) if last.strong == strong => last.text.push_str(&shown),
                _ => runs.push(Run {
                    text: shown,
                    strong,
                }),
            }
        } else if let Some(inner) = ElementRef::wrap(child) {
            match inner.value().name() {
                "svg" => {}
                "strong" | "b" => gather(inner, true, runs),
                _ => gather(inner, strong, runs),
            }
        }
    }
}

/// White space that HTML folds; spaces that keep words together are not.
fn is_space(character: char) -> bool {
    matches!(character, ' ' | '\n' | '\t' | '\r')
}
