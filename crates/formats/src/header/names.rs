//! Under which names a column is known, language by language. The recogniser reads this table only, and
//! `docs/headers.md` is printed from it. A name that stands under several columns is ambiguous: its unit
//! decides, and where that does not, the file is refused with the choice to make.
//!
//! # Source
//! Common practice, no source: words of the trade as farmers, dealers and advisers write them in tables.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use checkstrip_model::{Column, Operation};

use super::recognise::fold;

/// Languages of the table, in its order.
pub(super) const LANGUAGES: [&str; 5] = ["English", "German", "French", "Spanish", "Portuguese"];

/// What is tried when nothing else in a file is a longitude or latitude.
pub(super) const LAST_RESORT: &[(Column, &str)] = &[(Column::Lon, "x"), (Column::Lat, "y")];

/// Words in front of or behind the number of a planter's row, folded.
pub(super) const ROW_WORDS: &[&str] = &[
    "row", "r", "reihe", "rang", "ligne", "hilera", "surco", "linha",
];

/// For each column its names in the languages of [`LANGUAGES`], as people write them; case, accents, spaces
/// and punctuation are not looked at, and `ae`, `oe`, `ue` do for umlauts.
pub(super) const NAMES: &[(Column, [&[&str]; 5])] = &[
    (
        Column::Timestamp,
        [
            &[
                "timestamp",
                "time",
                "GPS time",
                "ISO time",
                "date time",
                "UTC time",
                "UTC",
                "Unix time",
            ],
            &[
                "Zeit",
                "Zeitstempel",
                "Uhrzeit",
                "Datum Uhrzeit",
                "Datum Zeit",
                "GPS-Zeit",
            ],
            &[
                "horodatage",
                "heure",
                "date heure",
                "date et heure",
                "heure GPS",
            ],
            &[
                "hora",
                "fecha hora",
                "fecha y hora",
                "marca de tiempo",
                "hora GPS",
            ],
            &[
                "hora",
                "data hora",
                "data e hora",
                "carimbo de tempo",
                "hora GPS",
            ],
        ],
    ),
    (
        Column::Lon,
        [
            &["lon", "longitude", "long", "lng"],
            &[
                "Längengrad",
                "geografische Länge",
                "geographische Länge",
                "Länge",
            ],
            &["longitude"],
            &["longitud"],
            &["longitude"],
        ],
    ),
    (
        Column::Lat,
        [
            &["lat", "latitude"],
            &[
                "Breitengrad",
                "geografische Breite",
                "geographische Breite",
                "Breite",
            ],
            &["latitude"],
            &["latitud"],
            &["latitude"],
        ],
    ),
    (
        Column::MassFlow,
        [
            &[
                "mass flow",
                "flow",
                "grain flow",
                "mass flow rate",
                "flow rate",
                "grain mass flow",
                "crop flow",
            ],
            &[
                "Massenstrom",
                "Massenfluss",
                "Durchsatz",
                "Kornstrom",
                "Korndurchsatz",
                "Körnerstrom",
            ],
            &[
                "débit massique",
                "débit",
                "débit de grain",
                "débit grain",
                "flux massique",
            ],
            &[
                "flujo másico",
                "flujo de masa",
                "flujo de grano",
                "flujo",
                "caudal másico",
            ],
            &[
                "fluxo de massa",
                "fluxo mássico",
                "fluxo de grãos",
                "fluxo",
                "vazão mássica",
            ],
        ],
    ),
    (
        Column::Moisture,
        [
            &[
                "moisture",
                "moist",
                "grain moisture",
                "moisture content",
                "crop moisture",
            ],
            &[
                "Feuchte",
                "Feuchtigkeit",
                "Kornfeuchte",
                "Erntefeuchte",
                "Wassergehalt",
                "Feuchtegehalt",
            ],
            &[
                "humidité",
                "humidité du grain",
                "humidité grain",
                "taux d'humidité",
                "teneur en eau",
            ],
            &[
                "humedad",
                "humedad del grano",
                "humedad de grano",
                "contenido de humedad",
            ],
            &[
                "umidade",
                "humidade",
                "umidade do grão",
                "umidade dos grãos",
                "teor de umidade",
                "teor de água",
            ],
        ],
    ),
    (
        Column::Speed,
        [
            &["speed", "ground speed", "velocity", "travel speed"],
            &["Geschwindigkeit", "Fahrgeschwindigkeit"],
            &["vitesse", "vitesse d'avancement"],
            &["velocidad", "velocidad de avance"],
            &[
                "velocidade",
                "velocidade de avanço",
                "velocidade de deslocamento",
            ],
        ],
    ),
    (
        Column::Distance,
        [
            &[
                "distance",
                "dist",
                "distance travelled",
                "distance traveled",
                "travel distance",
            ],
            &[
                "Strecke",
                "Wegstrecke",
                "Fahrstrecke",
                "Distanz",
                "zurückgelegte Strecke",
                "Länge",
            ],
            &["distance", "distance parcourue"],
            &["distancia", "distancia recorrida"],
            &["distância", "distância percorrida"],
        ],
    ),
    (
        Column::Interval,
        [
            &[
                "interval",
                "duration",
                "time interval",
                "log interval",
                "record interval",
            ],
            &[
                "Intervall",
                "Zeitintervall",
                "Aufzeichnungsintervall",
                "Dauer",
            ],
            &["intervalle", "intervalle de temps", "durée"],
            &["intervalo", "intervalo de tiempo", "duración"],
            &["intervalo", "intervalo de tempo", "duração"],
        ],
    ),
    (
        Column::Width,
        [
            &[
                "width",
                "swath width",
                "swath",
                "cutting width",
                "header width",
                "working width",
                "implement width",
            ],
            &[
                "Breite",
                "Arbeitsbreite",
                "Schnittbreite",
                "Schneidwerksbreite",
            ],
            &["largeur", "largeur de travail", "largeur de coupe"],
            &[
                "ancho",
                "ancho de corte",
                "ancho de trabajo",
                "ancho de labor",
            ],
            &["largura", "largura de corte", "largura de trabalho"],
        ],
    ),
    (
        Column::HeaderDown,
        [
            &[
                "header down",
                "header",
                "header status",
                "header position",
                "header state",
                "implement down",
                "work state",
            ],
            &[
                "Schneidwerk",
                "Schneidwerk unten",
                "Schneidwerksstellung",
                "Arbeitsstellung",
                "Arbeitszustand",
            ],
            &[
                "barre de coupe",
                "position de la barre de coupe",
                "état de travail",
            ],
            &[
                "plataforma",
                "cabezal",
                "cabezal abajo",
                "plataforma abajo",
                "estado de trabajo",
            ],
            &["plataforma", "plataforma abaixada", "estado de trabalho"],
        ],
    ),
    (
        Column::Heading,
        [
            &[
                "heading",
                "course",
                "track",
                "direction",
                "bearing",
                "azimuth",
            ],
            &["Richtung", "Fahrtrichtung", "Kurs", "Kurswinkel", "Azimut"],
            &["cap", "direction", "azimut"],
            &["rumbo", "dirección", "acimut", "azimut"],
            &["rumo", "direção", "azimute"],
        ],
    ),
    (
        Column::PassId,
        [
            &[
                "pass id",
                "pass",
                "pass num",
                "pass number",
                "pass no",
                "track",
                "track number",
                "swath",
                "swath number",
            ],
            &["Überfahrt", "Fahrspur", "Spur", "Bahn"],
            &["passage", "numéro de passage"],
            &["pasada", "número de pasada"],
            &["passada", "número da passada"],
        ],
    ),
    (
        Column::Elevation,
        [
            &["elevation", "elev", "altitude", "alt", "height"],
            &["Höhe", "Höhe über NN", "Geländehöhe"],
            &["altitude", "élévation"],
            &["altitud", "elevación", "altura"],
            &["altitude", "elevação"],
        ],
    ),
    (
        Column::Machine,
        [
            &[
                "machine",
                "machine id",
                "combine",
                "combine id",
                "harvester",
            ],
            &["Maschine", "Maschinennummer", "Mähdrescher"],
            &["machine", "moissonneuse", "moissonneuse-batteuse"],
            &["máquina", "cosechadora"],
            &["máquina", "colhedora", "colheitadeira"],
        ],
    ),
    (
        Column::Load,
        [
            &[
                "load",
                "load id",
                "load number",
                "ticket",
                "ticket id",
                "ticket number",
                "scale ticket",
            ],
            &["Ladung", "Fuhre", "Wiegeschein", "Lieferschein"],
            &["chargement", "benne", "bon de pesée"],
            &["carga", "número de carga", "ticket de báscula"],
            &["carga", "número da carga", "ticket de balança"],
        ],
    ),
    (
        Column::Yield,
        [
            &[
                "yield",
                "grain yield",
                "dry yield",
                "yield dry",
                "crop yield",
            ],
            &["Ertrag", "Kornertrag", "Ertrag trocken", "Trockenertrag"],
            &[
                "rendement",
                "rendement sec",
                "rendement grain",
                "rendement en grain",
            ],
            &["rendimiento", "rendimiento seco", "rendimiento de grano"],
            &[
                "rendimento",
                "produtividade",
                "rendimento seco",
                "produtividade seca",
                "rendimento de grãos",
            ],
        ],
    ),
    (
        Column::Row,
        [
            &["row", "row number", "row no", "row id", "row unit"],
            &["Reihe", "Reihennummer", "Säreihe"],
            &["rang", "numéro de rang"],
            &["hilera", "surco", "número de hilera"],
            &["linha", "número da linha", "linha de plantio"],
        ],
    ),
    (
        Column::SeedRate,
        [
            &[
                "seed rate",
                "seeding rate",
                "planting rate",
                "population",
                "plant population",
                "seed population",
                "actual population",
                "applied population",
                "applied rate",
                "actual rate",
                "rate",
            ],
            &[
                "Kornzahl",
                "Bestandesdichte",
                "Saatstärke",
                "Aussaatstärke",
                "Saatdichte",
            ],
            &[
                "densité de semis",
                "population",
                "dose de semis",
                "densité de plantation",
            ],
            &[
                "población",
                "densidad de siembra",
                "dosis de siembra",
                "población de plantas",
            ],
            &[
                "população",
                "densidade de semeadura",
                "taxa de semeadura",
                "população de plantas",
            ],
        ],
    ),
    (
        Column::TargetSeedRate,
        [
            &[
                "target seed rate",
                "target seeding rate",
                "target population",
                "planned population",
                "set population",
                "target rate",
                "planned rate",
                "set rate",
                "prescribed rate",
            ],
            &["Soll-Kornzahl", "Soll-Saatstärke", "Soll-Aussaatstärke"],
            &["densité cible", "population cible", "dose de semis cible"],
            &["población objetivo", "densidad objetivo"],
            &["população alvo", "densidade alvo"],
        ],
    ),
    (
        Column::Singulation,
        [
            &["singulation", "seed singulation"],
            &["Vereinzelung", "Vereinzelungsgüte", "Kornvereinzelung"],
            &["singulation", "qualité de distribution"],
            &["singulación", "singulación de semillas"],
            &["singulação", "singulação de sementes"],
        ],
    ),
    (
        Column::Skips,
        [
            &["skips", "skip", "misses", "missed seeds"],
            &["Fehlstellen", "Auslassungen"],
            &["manques", "manquants"],
            &["fallos", "fallas"],
            &["falhas"],
        ],
    ),
    (
        Column::Multiples,
        [
            &["multiples", "doubles", "multiple seeds"],
            &["Doppelstellen", "Doppelbelegungen", "Mehrfachbelegungen"],
            &["doubles", "doublons"],
            &["dobles", "múltiples"],
            &["duplas", "múltiplos"],
        ],
    ),
    (
        Column::SeedSpacing,
        [
            &["seed spacing", "mean seed spacing", "in-row spacing"],
            &["Kornabstand", "Ablageabstand"],
            &[
                "espacement des graines",
                "distance entre graines",
                "écartement sur le rang",
            ],
            &["distancia entre semillas", "espaciamiento entre semillas"],
            &["espaçamento entre sementes", "distância entre sementes"],
        ],
    ),
    (
        Column::SpacingVariation,
        [
            &[
                "spacing variation",
                "spacing cv",
                "seed spacing cv",
                "coefficient of variation",
                "cv",
            ],
            &["Variationskoeffizient"],
            &["coefficient de variation", "cv"],
            &["coeficiente de variación", "cv"],
            &["coeficiente de variação", "cv"],
        ],
    ),
    (
        Column::Downforce,
        [
            &[
                "downforce",
                "down force",
                "gauge wheel load",
                "row unit downforce",
            ],
            &["Schardruck", "Auflagekraft", "Anpresskraft"],
            &["force d'appui", "pression sur le rang"],
            &["fuerza descendente", "carga de la rueda limitadora"],
            &["força descendente", "carga da roda limitadora"],
        ],
    ),
    (
        Column::GroundContact,
        [
            &["ground contact"],
            &["Bodenkontakt"],
            &["contact au sol"],
            &["contacto con el suelo"],
            &["contato com o solo", "contacto com o solo"],
        ],
    ),
    (
        Column::RideQuality,
        [
            &["ride quality", "ride"],
            &["Laufruhe"],
            &["stabilité du rang"],
            &["calidad de marcha"],
            &["estabilidade da linha"],
        ],
    ),
    (
        Column::Vacuum,
        [
            &["vacuum", "meter vacuum", "vacuum pressure"],
            &["Unterdruck", "Vakuum"],
            &["dépression", "vide"],
            &["vacío", "presión de vacío"],
            &["vácuo", "pressão de vácuo"],
        ],
    ),
    (
        Column::AppliedMass,
        [
            &[
                "applied mass",
                "applied rate",
                "actual rate",
                "application rate",
                "rate",
                "seed rate",
                "seeding rate",
            ],
            &[
                "Ausbringmenge",
                "Istmenge",
                "Saatstärke",
                "Aussaatstärke",
                "Saatmenge",
            ],
            &["dose appliquée", "dose", "dose de semis"],
            &["dosis aplicada", "dosis", "dosis de siembra"],
            &[
                "taxa aplicada",
                "dose aplicada",
                "taxa",
                "taxa de semeadura",
            ],
        ],
    ),
    (
        Column::TargetMass,
        [
            &[
                "target mass",
                "target rate",
                "planned rate",
                "set rate",
                "prescribed rate",
                "target seed rate",
                "target seeding rate",
            ],
            &["Sollmenge", "Soll-Saatstärke", "Soll-Aussaatstärke"],
            &["dose cible", "dose prescrite", "dose de semis cible"],
            &["dosis objetivo", "dosis prescrita"],
            &["taxa alvo", "dose alvo", "taxa prescrita"],
        ],
    ),
    (
        Column::AppliedVolume,
        [
            &[
                "applied volume",
                "applied rate",
                "actual rate",
                "application rate",
                "rate",
            ],
            &["Ausbringmenge", "Istmenge", "Spritzmenge"],
            &["volume appliqué", "dose appliquée", "dose"],
            &["volumen aplicado", "dosis aplicada", "dosis"],
            &["volume aplicado", "taxa aplicada", "dose aplicada", "taxa"],
        ],
    ),
    (
        Column::TargetVolume,
        [
            &[
                "target volume",
                "target rate",
                "planned rate",
                "set rate",
                "prescribed rate",
            ],
            &["Sollmenge"],
            &["volume cible", "dose cible", "dose prescrite"],
            &["volumen objetivo", "dosis objetivo", "dosis prescrita"],
            &["volume alvo", "taxa alvo", "dose alvo", "taxa prescrita"],
        ],
    ),
    (
        Column::Product,
        [
            &[
                "product",
                "product name",
                "variety",
                "hybrid",
                "seed variety",
            ],
            &["Produkt", "Mittel", "Sorte", "Hybride"],
            &["produit", "variété", "hybride"],
            &["producto", "variedad", "híbrido"],
            &["produto", "variedade", "híbrido", "cultivar"],
        ],
    ),
    (
        Column::PlantCount,
        [
            &[
                "plant count",
                "plants",
                "plants counted",
                "count",
                "number of plants",
                "emerged plants",
            ],
            &[
                "Pflanzen",
                "Pflanzenzahl",
                "Anzahl Pflanzen",
                "gezählte Pflanzen",
            ],
            &["plantes", "nombre de plantes", "plantes comptées"],
            &["plantas", "número de plantas", "plantas contadas"],
            &["plantas", "número de plantas", "plantas contadas"],
        ],
    ),
    (
        Column::RowLength,
        [
            &["row length", "length of row", "counted length", "length"],
            &["Reihenlänge", "Zähllänge"],
            &["longueur de rang", "longueur comptée"],
            &["longitud de hilera", "longitud de surco"],
            &["comprimento da linha", "comprimento de linha"],
        ],
    ),
    (
        Column::RowSpacing,
        [
            &["row spacing", "row width", "spacing of rows"],
            &["Reihenabstand", "Reihenweite"],
            &["écartement des rangs", "inter-rang"],
            &["distancia entre hileras", "distancia entre surcos"],
            &["espaçamento entre linhas", "espaçamento das linhas"],
        ],
    ),
    (
        Column::CountedRows,
        [
            &["counted rows", "rows counted", "rows", "number of rows"],
            &["gezählte Reihen", "Reihen"],
            &["rangs comptés", "rangs"],
            &["hileras contadas", "surcos contados"],
            &["linhas contadas"],
        ],
    ),
    (
        Column::Stand,
        [
            &["stand", "final stand", "stand count", "plant density"],
            &["Pflanzendichte"],
            &["peuplement", "densité de peuplement"],
            &["densidad de plantas", "stand de plantas"],
            &["densidade de plantas", "estande"],
        ],
    ),
    (
        Column::StripId,
        [
            &["strip id", "strip", "plot", "strip name"],
            &["Streifen", "Parzelle"],
            &["bande", "parcelle"],
            &["franja", "parcela"],
            &["faixa", "parcela"],
        ],
    ),
];

/// A name, folded, with the columns it may stand for.
#[derive(Debug)]
pub(super) struct Name {
    pub(super) folded: String,
    pub(super) columns: Vec<Column>,
}

/// `name` folded, and once more with umlauts spelled out.
fn spellings(name: &str) -> Vec<String> {
    let mut spellings = vec![fold(name)];
    if name.contains(['ä', 'ö', 'ü', 'Ä', 'Ö', 'Ü']) {
        let spelled_out = name
            .replace(['ä', 'Ä'], "ae")
            .replace(['ö', 'Ö'], "oe")
            .replace(['ü', 'Ü'], "ue");
        spellings.push(fold(&spelled_out));
    }
    spellings
}

/// Every name of the table, each once.
pub(super) fn names() -> &'static [Name] {
    static FOLDED: LazyLock<Vec<Name>> = LazyLock::new(|| {
        let mut folded: BTreeMap<String, Vec<Column>> = BTreeMap::new();
        for (column, languages) in NAMES {
            let in_all = languages.iter().flat_map(|names| names.iter());
            for spelling in in_all.flat_map(|name| spellings(name)) {
                let columns = folded.entry(spelling).or_default();
                if !columns.contains(column) {
                    columns.push(*column);
                }
            }
        }
        let names = folded.into_iter();
        names
            .map(|(folded, columns)| Name { folded, columns })
            .collect()
    });
    &FOLDED
}

/// Names that stand under several columns of logs of one operation, as they are written, with these columns.
pub(super) fn ambiguous() -> Vec<(&'static str, Vec<Column>)> {
    let mut found: BTreeMap<String, (&'static str, Vec<Column>)> = BTreeMap::new();
    for name in NAMES
        .iter()
        .flat_map(|(_, names)| names.iter().copied().flatten())
    {
        let folded = fold(name);
        let Some(columns) = names().iter().find(|other| other.folded == folded) else {
            continue;
        };
        let in_one_log = |operation: &Operation| {
            let of = |column: &&Column| column.operations().contains(operation);
            columns.columns.iter().filter(of).count() > 1
        };
        if Operation::ALL.iter().any(in_one_log) {
            found
                .entry(folded)
                .or_insert_with(|| (name, columns.columns.clone()));
        }
    }
    found.into_values().collect()
}
