#[test]
fn x() { 
    println!("{}", checkstrip_acceptance::binary().display());
    let farm = checkstrip_acceptance::SmallFarm::new();
    println!("{:?}", farm.compare());
    println!("{}", farm.folder.text("out/results.json"));
 }
