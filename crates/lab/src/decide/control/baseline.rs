//! Freezing what a chart is judged against.

use crate::control::{BaselineProgress, Known, decimal, double};
use crate::decide::Desk;
use crate::decide::form::Form;
use crate::fact::{BaselineFrozen, CentreFrom, Excluded, Fact, Right, SpreadFrom};
use crate::refusal::Refusal;
use crate::request::FreezeBaseline;
use crate::state::ReferenceLot;
use stonewear_measure::Decimal;
use stonewear_stats::chart::{Baseline, Exclusion, Rule, baseline};

/// Decimals that centre and standard deviation keep: two more than the losses have.
const FIGURES_TO: u32 = 4;

impl Desk<'_> {
    pub(in crate::decide) fn freeze_baseline(
        &self,
        request: &FreezeBaseline,
    ) -> Result<Vec<Fact>, Refusal> {
        self.person_who_may(Right::Manage)?;
        let mut form = Form::with_reason(&request.deviation);
        let reason = form.text("reason", &request.reason, "on what grounds these results");
        let centre_from = centre_from(&mut form, &request.centre);
        let spread_from = spread_from(&mut form, &request.spread);
        let lot = self.lot(&mut form, "lot", &request.lot);
        let machine = self.machine(&mut form, &request.apparatus);
        let (Some(lot), Some(machine), Some(centre_from), Some(spread_from)) =
            (lot, machine, centre_from, spread_from)
        else {
            return form.refuse();
        };
        let is_stated = centre_from == CentreFrom::Stated || spread_from == SpreadFrom::Stated;
        let mut document = form.optional("document", &request.document);
        if is_stated && document.is_empty() {
            let message = "the document of what is stated is missing";
            form.wrong("document", "input-missing", message, "name it");
        }
        if centre_from == CentreFrom::Assigned
            && document.is_empty()
            && let Some(assigned) = &lot.assigned
        {
            document.clone_from(&assigned.document);
        }
        let needs_results = centre_from == CentreFrom::Mean || spread_from != SpreadFrom::Stated;
        let (used, excluded, found) = if needs_results {
            let known = self.lab.known_losses(lot, &machine.code);
            let Some(range) = range(&mut form, &known, request) else { return form.refuse() };
            let excluded = excluded(&mut form, range, request);
            let found = self.estimate(&mut form, range, &excluded);
            let left_out = |one: &&Known| !excluded.iter().any(|out| out.point == one.name);
            (range.iter().filter(left_out).cloned().collect(), excluded, found)
        } else {
            (Vec::new(), Vec::new(), None)
        };
        let centre = centre(&mut form, lot, request, centre_from, found.as_ref());
        let sigma = sigma(&mut form, request, spread_from, found.as_ref());
        let (Some(centre_percent), Some(sigma_percent)) = (centre, sigma) else {
            return form.refuse();
        };
        if sigma_percent <= Decimal::ZERO {
            let message = "these results vary too little for limits";
            form.wrong("spread", "baseline-flat", message, "take more results");
        }
        let deviations = form.deviations()?;
        Ok(vec![Fact::BaselineFrozen(BaselineFrozen {
            lot: lot.code.clone(),
            apparatus: machine.code.clone(),
            points: used.into_iter().map(|one: Known| one.name).collect(),
            excluded,
            centre_percent,
            centre_from,
            sigma_percent,
            spread_from,
            document,
            reason,
            deviations,
        })])
    }

    /// What the results give, with everything that speaks against them.
    fn estimate(
        &self,
        form: &mut Form,
        range: &[Known],
        excluded: &[Excluded],
    ) -> Option<Baseline> {
        let place_of = |out: &Excluded| range.iter().position(|one| one.name == out.point);
        let exclusions: Vec<Exclusion> = excluded
            .iter()
            .filter_map(|out| {
                Some(Exclusion { index: place_of(out)? + 1, reason: out.reason.clone() })
            })
            .collect();
        let values: Vec<f64> = range.iter().map(|one| double(one.loss_percent)).collect();
        let found = match baseline(&values, &exclusions, &[Rule::ONE]) {
            Ok(found) => found,
            Err(error) => {
                form.wrong("first", "baseline-impossible", error.to_string(), "take more results");
                return None;
            }
        };
        for suspect in &found.suspects {
            let Some(one) = range.get(suspect.index - 1) else { continue };
            let message =
                format!("{} ({} %) lies beyond the action limit", one.name, one.loss_percent);
            let hint = "leave it out with its reason, or record why it stays";
            form.departs("excluded", "baseline-suspect", message, hint);
        }
        let used: Vec<Known> = range
            .iter()
            .filter(|one| !excluded.iter().any(|out| out.point == one.name))
            .cloned()
            .collect();
        for missing in BaselineProgress::of(&used, self.lab.baseline_rule()).missing() {
            let message = format!("a baseline needs more than these results: {missing}");
            let hint = "wait for more results, or record why these do";
            form.departs("last", "baseline-short", message, hint);
        }
        Some(found)
    }
}

fn centre_from(form: &mut Form, typed: &str) -> Option<CentreFrom> {
    match typed.trim() {
        "" | "mean" => Some(CentreFrom::Mean),
        "assigned" => Some(CentreFrom::Assigned),
        "stated" => Some(CentreFrom::Stated),
        other => {
            let message = format!("“{other}” is no way to a centre");
            form.wrong("centre", "input-choice", message, "write mean, assigned or stated");
            None
        }
    }
}

fn spread_from(form: &mut Form, typed: &str) -> Option<SpreadFrom> {
    match typed.trim() {
        "" | "moving-range" => Some(SpreadFrom::MovingRange),
        "standard-deviation" => Some(SpreadFrom::StandardDeviation),
        "stated" => Some(SpreadFrom::Stated),
        other => {
            let message = format!("“{other}” is no way to a spread");
            let hint = "write moving-range, standard-deviation or stated";
            form.wrong("spread", "input-choice", message, hint);
            None
        }
    }
}

/// The results from the first to the last that are named.
fn range<'k>(form: &mut Form, known: &'k [Known], request: &FreezeBaseline) -> Option<&'k [Known]> {
    let mut place = |field: &str, typed: &str, otherwise: usize| {
        let typed = typed.trim().to_uppercase();
        if typed.is_empty() {
            return Some(otherwise);
        }
        let found = known.iter().position(|one| one.name == typed);
        if found.is_none() {
            let message = format!("“{typed}” is no result of this chart");
            form.wrong(field, "point-unknown", message, "look at its table");
        }
        found
    };
    let first = place("first", &request.first, 0)?;
    let last = place("last", &request.last, known.len().saturating_sub(1))?;
    if known.is_empty() {
        let message = "there is no result of this lot on this apparatus";
        form.wrong("last", "baseline-short", message, "run the lot, or take over past results");
        return None;
    }
    if first > last {
        let message = "the last result is older than the first";
        form.wrong("last", "input-order", message, "name them the other way round");
        return None;
    }
    Some(&known[first..=last])
}

/// The results that are left out.
fn excluded(form: &mut Form, range: &[Known], request: &FreezeBaseline) -> Vec<Excluded> {
    let mut excluded: Vec<Excluded> = Vec::new();
    for (index, one) in request.excluded.iter().enumerate() {
        let point = one.point.trim().to_uppercase();
        if point.is_empty() {
            continue;
        }
        let field = format!("excluded.{index}.point");
        if !range.iter().any(|known| known.name == point) {
            let message = format!("“{point}” is none of these results");
            form.wrong(&field, "point-unknown", message, "look at the table of the chart");
        }
        if excluded.iter().any(|other| other.point == point) {
            form.wrong(&field, "named-twice", format!("{point} is named twice"), "name it once");
        }
        let reason =
            form.text(&format!("excluded.{index}.reason"), &one.reason, "why it is left out");
        excluded.push(Excluded { point, reason });
    }
    excluded
}

fn centre(
    form: &mut Form,
    lot: &ReferenceLot,
    request: &FreezeBaseline,
    from: CentreFrom,
    found: Option<&Baseline>,
) -> Option<Decimal> {
    match from {
        CentreFrom::Mean => decimal(found?.process.centre, FIGURES_TO),
        CentreFrom::Stated => {
            let most = Decimal::ONE_HUNDRED;
            form.positive("stated_centre", &request.stated_centre, "%", most)
        }
        CentreFrom::Assigned => {
            if lot.assigned.is_none() {
                let message = format!("no document gives {} a value", lot.code);
                form.wrong("centre", "assigned-missing", message, "take the mean of its results");
            }
            lot.assigned.as_ref().map(|assigned| assigned.loss_percent)
        }
    }
}

fn sigma(
    form: &mut Form,
    request: &FreezeBaseline,
    from: SpreadFrom,
    found: Option<&Baseline>,
) -> Option<Decimal> {
    match from {
        SpreadFrom::MovingRange => decimal(found?.process.sigma, FIGURES_TO),
        SpreadFrom::StandardDeviation => decimal(found?.overall_standard_deviation, FIGURES_TO),
        SpreadFrom::Stated => {
            let most = Decimal::ONE_HUNDRED;
            form.positive("stated_sigma", &request.stated_sigma, "%", most)
        }
    }
}
