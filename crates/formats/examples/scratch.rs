#![allow(clippy::all, missing_docs, clippy::print_stdout)]
use checkstrip_formats::*;
use checkstrip_model::*;
fn main() {
    let a: Vec<String> = std::env::args().skip(1).collect();
    let mut o = ReadOptions {
        bushel_kg: 25.4,
        ..Default::default()
    };
    match a[0].as_str() {
        "strips" => {
            match read_strips(
                a[1].as_ref(),
                &StripOptions {
                    treatment: a.get(2).cloned().unwrap_or("treatment".into()),
                    ..Default::default()
                },
            ) {
                Ok(s) => {
                    println!("{} {} {:?}", s.crs, s.strips.len(), s.problems);
                    for s in s.strips.iter().take(3) {
                        println!(
                            "{:?}",
                            (
                                &s.strip_id,
                                &s.treatment,
                                &s.block,
                                s.ground.0[0].exterior().0[0]
                            )
                        );
                    }
                }
                Err(e) => println!("ERR {e}"),
            }
        }
        "log" => {
            for t in &a[2..] {
                let (k, r) = t.split_once('=').unwrap();
                let (c, u) = r.split_once(':').unwrap();
                o.columns.insert(
                    Column::from_key(k).unwrap(),
                    ColumnSource {
                        column: c.into(),
                        unit: Some(u.into()).filter(|u: &String| !u.is_empty()),
                    },
                );
            }
            let t = std::time::Instant::now();
            match read_log(&[a[1].clone().into()], &o) {
                Ok(l) => {
                    println!(
                        "{:?} {} records {:#?}\nunrec {:?}",
                        t.elapsed(),
                        l.len(),
                        l.sources,
                        l.unrecognised
                    );
                    for p in &l.problems {
                        println!("{p}");
                    }
                    for c in Column::ALL {
                        if let Some(n) = l.numbers(*c) {
                            println!(
                                "{c:?} {:?} nan {}",
                                &n[..n.len().min(3)],
                                n.iter().filter(|x| x.is_nan()).count()
                            );
                        }
                    }
                    println!("{:?}", l.files);
                }
                Err(e) => println!("ERR {e}"),
            }
        }
        _ => {}
    }
}
