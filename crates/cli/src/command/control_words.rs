//! Facts about reference aggregate and charts, each in a short sentence.

use stonewear_lab::Fact;
use stonewear_lab::words::counted;
use stonewear_measure::balance::shown;

pub(super) fn in_words(fact: &Fact) -> String {
    match fact {
        Fact::LotRegistered(lot) => {
            format!("registered lot {}, {}, {} g", lot.lot, lot.name, shown(lot.stock_g))
        }
        Fact::SampleLinked(linked) => format!("{} is of lot {}", linked.sample, linked.lot),
        Fact::StockCounted(counted) => {
            format!("{} g of lot {} are left", shown(counted.stock_g), counted.lot)
        }
        Fact::ReferenceImported(imported) => format!(
            "took over {} of lot {} on {} as {}",
            counted(imported.results.len(), "result"),
            imported.lot,
            imported.apparatus,
            imported.import
        ),
        Fact::BaselineFrozen(frozen) => format!(
            "froze the baseline of {} on {}: centre {} %, s {} %, from {}",
            frozen.lot,
            frozen.apparatus,
            frozen.centre_percent,
            frozen.sigma_percent,
            counted(frozen.points.len(), "result")
        ),
        Fact::LotTakenOver(taken) => format!(
            "lot {} takes the place of {} on {}: {}",
            taken.lot, taken.replaces, taken.apparatus, taken.verdict
        ),
        Fact::EventNoted(event) => {
            format!("{} {} on {}: {}", event.item, event.what.in_words(), event.on, event.note)
        }
        Fact::InvestigationOpened(opened) => format!(
            "opened {}: {} on {} is investigated, {}",
            opened.investigation, opened.point, opened.apparatus, opened.why
        ),
        Fact::FindingRecorded(found) => {
            format!("{}, {}: {}", found.investigation, found.step, found.finding)
        }
        Fact::InvestigationClosed(closed) => format!(
            "finished {}: {}; {} is in control",
            closed.investigation, closed.cause, closed.repeat
        ),
        _ => String::new(),
    }
}
