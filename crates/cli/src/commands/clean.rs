//! `checkstrip clean`.

use crate::arguments::CleanArguments;
use crate::console::Console;
use crate::meaning::{field_name, log_setup};
use checkstrip_job::{clean_log, write_cleaning};
use checkstrip_model::Status;
use checkstrip_model::results::Field;

pub(crate) fn run(arguments: &CleanArguments, console: &Console) -> anyhow::Result<()> {
    let mut setup = log_setup(&arguments.logs, &arguments.log)?;
    setup.tickets.clone_from(&arguments.tickets);
    let words = console.language.read()?;
    let outcome = clean_log(&setup, &|what| console.progress(what))?;
    let field = Field::new(&field_name(&setup.files), &setup.crop);
    console.progress("writing");
    let export = arguments.export.into();
    let (written, summary) = write_cleaning(
        &outcome,
        &setup,
        &field,
        &arguments.out,
        export,
        console.reader(&words),
    )?;
    console.finish();
    console.warn(&outcome.warnings);
    console.result(&summary, || {
        let log = &outcome.log;
        let mut words = vec![format!(
            "{} of {} records kept. Grain delay {:.1} s ({}).",
            log.count(Status::Kept),
            log.len(),
            outcome.grain_delay.delay_s,
            outcome.grain_delay.source.key()
        )];
        for &reason in Status::REASONS {
            let count = log.count(reason);
            if count > 0 {
                words.push(format!(
                    "{count:>9}  {}",
                    checkstrip_words::Words::english().status(reason)
                ));
            }
        }
        words.extend(
            written
                .iter()
                .map(|path| format!("wrote {}", path.display())),
        );
        words.join("\n")
    })
}
