//! The sieve analysis of a sample: one big field a sieve, the curve, and what a make-up needs.

use super::parts::{self, Field, Form};
use super::{Page, View};
use crate::look::{self, Hazard, Tone};
use maud::{Markup, html};
use stonewear_lab::decide::sieving::{definitions, running};
use stonewear_lab::fact::SievingRecorded;
use stonewear_lab::state::{Noted, Sample, Sieving};
use stonewear_lab::{Fact, Request};
use stonewear_measure::Decimal;
use stonewear_method::{Grading, Method};
use stonewear_procedure::ItemKind;
use stonewear_sieving::makeup::{DEFAULT_MARGIN_PERCENT, SUBSTITUTION};
use stonewear_sieving::{
    ClosingRule, FractionPlan, MakeUp, Sieve, SieveAnalysis, SieveSet, choose, fitting, make_up,
    shown_grams, shown_percent,
};

const RECORD: &str = "record-sieving";
const RULES: &str = "set-sieving-rules";
const DUST: &str = "Dry sieving raises dust, and stone dust holds silica: sieve under extraction, wipe up wet, wear a respirator where the programme asks for it.";

/// How the masses are given. Each way has a page of its own, so that a draft that was kept for
/// one stack of sieves is never put back into the fields of another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Way {
    /// As a table.
    Table,
    /// Over the sieves of the analysis that is replaced.
    AsBefore,
    /// Over the sieves of a set.
    Over(SieveSet),
}

impl Way {
    /// The way that the last part of an address names, or the usual one.
    fn named(view: &View<'_>, sample: &Sample, name: Option<&str>) -> Option<Self> {
        match (name, sample.sieving()) {
            (Some("table"), _) => Some(Self::Table),
            (Some("as-before") | None, Some(_)) => Some(Self::AsBefore),
            (Some(set), _) => set.parse().ok().map(Self::Over),
            (None, None) => Some(Self::Over(match view.lab.sieving_rules().closing {
                ClosingRule::AstmC136 => SieveSet::CoarseUs,
                ClosingRule::En9331 => SieveSet::CoarseMetric,
            })),
        }
    }

    fn name(self) -> &'static str {
        match self {
            Self::Table => "table",
            Self::AsBefore => "as-before",
            Self::Over(set) => set.name(),
        }
    }

    fn in_words(self) -> &'static str {
        match self {
            Self::Table => "a pasted table",
            Self::AsBefore => "the sieves as before",
            Self::Over(set) => set.in_words(),
        }
    }

    /// Its page.
    fn path(self, sample: &Sample) -> String {
        format!("/samples/{}/sieving/{}", sample.code, self.name())
    }

    fn sieves(self, sample: &Sample) -> Vec<Sieve> {
        match (self, sample.sieving()) {
            (Self::Over(set), _) => set.sieves(),
            (Self::AsBefore, Some(noted)) => {
                noted.value.retained.iter().map(|row| row.sieve).collect()
            }
            _ => Vec::new(),
        }
    }
}

pub(super) fn page(view: &View<'_>, code: &str, way: Option<&str>) -> Option<Page> {
    let sample = view.lab.samples.get(code)?;
    let asked = way.is_some();
    let way = Way::named(view, sample, way)?;
    let noted = sample.sieving();
    let found = noted.and_then(|noted| Some((noted, noted.value.analysis()?)));
    let record = record_form(view, sample, way);
    let body = html! {
        (look::facts(&[
            ("Sample", html! { a.code href={ "/samples/" (sample.code) } { (sample.code) } }),
            ("Size as received", html! { (sample.nominal_maximum_mm) " mm" }),
            ("Size by sieving", size(sample)),
        ]))
        @if let Some((noted, analysis)) = &found {
            (parts::section("What the sieves kept", kept(view, sample, noted, analysis)))
            (parts::section("Make-up", make_up_sheet(view, sample, &noted.value, analysis)))
            details open[asked || view.typed.was_refused(RECORD)] { summary { "Replace the analysis" } (record) }
        } @else {
            (parts::section("Record the analysis", record))
        }
        details open[view.typed.was_refused(RULES)] { summary { "How this laboratory reads its analyses" } (rules_form(view)) }
    };
    let page = Page::new(format!("Sieving of {}", sample.code), body).below("Samples", "/samples");
    Some(page.below(format!("Sample {}", sample.code), format!("/samples/{}", sample.code)))
}

/// The size by sieving with the definition that gave it, or why there is none.
pub(super) fn size(sample: &Sample) -> Markup {
    let Some(noted) = sample.sieving() else { return html! { "not sieved yet" } };
    let sieving = &noted.value;
    let by = format!("{}, {}", sieving.definition.in_words(), sieving.definition.source());
    let none = sieving.analysis().and_then(|analysis| sieving.definition.of(&analysis).err());
    html! {
        @match sieving.nominal_maximum_mm {
            Some(mm) => { strong { (mm) " mm" } " " span.quiet { (by) " (" (sieving.definition.confidence().in_words()) ")" } },
            None => { "none: " (none.unwrap_or_default()) },
        }
    }
}

fn kept(
    view: &View<'_>,
    sample: &Sample,
    noted: &Noted<Sieving>,
    analysis: &SieveAnalysis,
) -> Markup {
    let sieving = &noted.value;
    let mut rows: Vec<Vec<Markup>> = analysis
        .lines()
        .iter()
        .map(|line| {
            vec![
                html! { (line.sieve) },
                html! { (line.retained_g) },
                html! { (shown_percent(&line.retained_percent)) },
                html! { (shown_percent(&line.cumulative_percent)) },
                html! { (shown_percent(&line.passing_percent)) },
            ]
        })
        .collect();
    rows.push(vec![html! { "pan" }, html! { (analysis.pan_g()) }, html! {}, html! {}, html! {}]);
    let head = ["Sieve", "Retained, g", "Retained, %", "Cumulative, %", "Passing, %"];
    let curve =
        stonewear_report::grading_curve(&format!("Grading of sample {}", sample.code), sieving);
    html! {
        (parts::beside(look::grading_curve(&curve), parts::table("What each sieve kept", &head, &[1, 2, 3, 4], rows)))
        (look::facts(&[
            ("Closing check", closing(sieving)),
            ("Dry mass before", html! { (parts::grams(sieving.before_g)) }),
            ("Washed away", html! {
                @match analysis.wash_loss_percent() {
                    Some(lost) => { (parts::grams(analysis.wash_loss_g())) ", " (shown_percent(&lost)) " %" },
                    None => { "not washed" },
                }
            }),
            ("Received", html! { (parts::grams(sieving.received_g)) }),
            ("Recorded", html! { (parts::person(view, noted.by.as_str())) ", " (parts::moment(view, noted.at)) ", on " (sieving.balance)
                @if !sieving.reason.is_empty() { "; replaced the former: " (sieving.reason) } }),
        ]))
        (parts::deviations(view, &sieving.deviations))
    }
}

fn closing(sieving: &Sieving) -> Markup {
    let Some(closing) = sieving.closed() else {
        return html! { (look::mark(Tone::Edge, "not made")) " no dry mass before was weighed" };
    };
    let (tone, word) = if closing.holds() { (Tone::Good, "holds") } else { (Tone::Bad, "fails") };
    html! {
        (look::mark(tone, word)) " " (closing) " "
        span.quiet { "(" (closing.rule.confidence().in_words()) ")" }
    }
}

/// The make-up by the method that is chosen, from the material of this analysis.
fn make_up_sheet(
    view: &View<'_>,
    sample: &Sample,
    sieving: &Sieving,
    analysis: &SieveAnalysis,
) -> Markup {
    let mut methods = super::samples::offered(view);
    // Where a specimen is taken as it is, nothing is put together.
    methods.retain(|method| method.gradings.iter().any(|one| !one.fractions.is_empty()));
    let asked = view.asked("method");
    let method = asked
        .and_then(|id| methods.iter().copied().find(|method| method.key().answers_to(&id)))
        // Unasked, a method whose grading follows from the size that was found.
        .or_else(|| {
            methods.iter().copied().find(|method| fitting(method, sample.size_mm()).is_some())
        })
        .or_else(|| methods.first().copied());
    let Some(method) = method else { return html! {} };
    let taken = choose(method, sample.size_mm());
    let named = view.asked("grading").and_then(|name| method.grading(&name));
    let grading = named.or(taken.as_ref().map(|taken| taken.grading)).or(method.gradings.first());
    let Some(grading) = grading else { return html! {} };
    let margin = margin(view);
    let plan = make_up(method, grading, analysis, sieving.received_g, margin);
    html! {
        form.choose method="get" {
            (parts::method_select(view, &methods, method.key().as_str()))
            (look::button("Choose"))
        }
        @match taken {
            Some(taken) => { p { strong { "Grading " (grading.name) } ": " (taken.why) "." } },
            None => { p { (method.designation) " does not choose its grading by the size; " strong { "grading " (grading.name) } " is shown." } },
        }
        (plan_table(&plan, |_| None))
    }
}

/// The margin on the bulk that the address asks for, %, or the default.
fn margin(view: &View<'_>) -> Decimal {
    let asked = view.asked("margin").and_then(|typed| stonewear_measure::read(&typed).ok());
    let sound = |value: &Decimal| *value >= Decimal::ZERO && *value <= Decimal::ONE_THOUSAND;
    asked.filter(sound).unwrap_or(DEFAULT_MARGIN_PERCENT)
}

/// The make-up sheet of a specimen, where its sample was sieved.
pub(super) fn sheet(
    sample: &Sample,
    method: &Method,
    grading: &Grading,
    weighed: impl Fn(usize) -> Option<Decimal>,
) -> Option<Markup> {
    let sieving = &sample.sieving()?.value;
    let analysis = sieving.analysis()?;
    // What is taken as it is, is not put together.
    if grading.fractions.is_empty() {
        return None;
    }
    let plan = make_up(method, grading, &analysis, sieving.received_g, DEFAULT_MARGIN_PERCENT);
    Some(plan_table(&plan, weighed))
}

/// Grams wanted a fraction, what the material holds of it, the bulk to sieve, and what is short.
fn plan_table(plan: &MakeUp, weighed: impl Fn(usize) -> Option<Decimal>) -> Markup {
    let masses: Vec<Option<Decimal>> = (0..plan.fractions.len()).map(weighed).collect();
    let is_weighed = masses.iter().any(Option::is_some);
    let row = |(index, one): (usize, &FractionPlan)| {
        let governs = plan.governs == Some(index);
        let mut cells = vec![
            html! { (one.in_words()) },
            html! { (one.mass_g) @if let Some(tolerance) = one.tolerance_g { " ± " (tolerance) } },
            html! { @match &one.share_percent { Ok(share) => { (shown_percent(share)) }, Err(_) => { "not known" } } },
            html! {
                @match (&one.share_percent, one.bulk_needed_g) {
                    (_, Some(bulk)) => { @if governs { strong { (bulk) } } @else { (bulk) } },
                    (Ok(_), None) => { "none to be had" },
                    (Err(_), None) => { "not known" },
                }
            },
            html! { @if one.is_short { (look::mark(Tone::Bad, "short")) " " (shortage(one)) } @else if governs { "governs" } },
        ];
        if is_weighed {
            let mass = masses.get(index).copied().flatten();
            cells.insert(4, html! { (mass.map(|g| g.to_string()).unwrap_or_default()) });
        }
        cells
    };
    let rows = plan.fractions.iter().enumerate().map(row).collect();
    let mut head = vec!["Fraction", "Wanted, g", "Share, %", "Bulk to sieve, g", "Remark"];
    if is_weighed {
        head.insert(4, "Weighed in, g");
    }
    let figures = if is_weighed { &[1, 2, 3, 4][..] } else { &[1, 2, 3] };
    let missing: Vec<String> =
        plan.missing_sieves_mm().iter().map(|mm| format!("{mm} mm")).collect();
    html! {
        (parts::table("Make-up of one specimen", &head, figures, rows))
        @if let Some(bulk) = plan.bulk_needed_g {
            p { "Sieve at least " strong { (bulk) " g" } " of bulk material for one specimen; a margin of "
                (plan.margin_percent) " % is in it " span.quiet { "(common practice, no published source)" } "." }
        }
        @if !missing.is_empty() {
            p { "The analysis has no sieve at " (missing.join(", ")) ": what lies there is not known. Sieve over it to know." }
        }
        @if plan.is_short() {
            div.panel role="note" {
                p { (parts::capital(SUBSTITUTION)) "." }
                p {
                    @match &plan.instead {
                        Some(grading) => { "The next smaller grading, " strong { (grading) } ", can be made up." },
                        None => { "No smaller grading can be made up from it either." },
                    }
                }
            }
        }
    }
}

fn shortage(fraction: &FractionPlan) -> String {
    match &fraction.available_g {
        Some(has) if fraction.bulk_g.is_some() => format!("{} g received", shown_grams(has)),
        _ => "nothing of the material lies here".to_owned(),
    }
}

fn record_form(view: &View<'_>, sample: &Sample, way: Way) -> Markup {
    let rules = view.lab.sieving_rules();
    let form = Form::new(view, RECORD, "Record the analysis")
        .at(way.path(sample))
        .hidden("sample", sample.code.as_str());
    let before = sample.sieving().map(|_| Way::AsBefore);
    let others = SieveSet::ALL.map(Way::Over).into_iter().chain(before).chain([Way::Table]);
    html! {
        p {
            "Masses by " (way.in_words()) ". Or by "
            @for (index, other) in others.filter(|other| *other != way).enumerate() {
                @if index > 0 { " · " }
                a href=(other.path(sample)) { (other.in_words()) }
            }
        }
        (form.body(html! {
            (parts::caution(Hazard::Dust, DUST, "OSHA 29 CFR 1910.1053, NIOSH"))
            (mass(view, "before_g", "Dry mass before").bench().focus())
            (mass(view, "after_wash_g", "Dry mass after washing").optional().hint("left empty, it was not washed"))
            @if way == Way::Table {
                (Field::text(view, RECORD, "table", "The table").lines()
                    .hint("columns sieve_mm and retained_g, the pan as last row; comma, semicolon or tab between them"))
            } @else {
                @for (index, sieve) in way.sieves(sample).iter().enumerate() {
                    input type="hidden" name={ "rows." (index) ".sieve" } value=(sieve.in_mm());
                    (mass(view, &format!("rows.{index}.retained_g"), &sieve.to_string()).bench())
                }
                (mass(view, "pan_g", "Pan").bench())
            }
            (mass(view, "received_g", "Mass of the whole sample received").optional().hint("to know which fraction is short"))
            (parts::select(view, RECORD, "definition", "Nominal maximum size", definitions(), rules.definition.name()))
            (parts::select(view, RECORD, "closing", "Closing check", closings(), rules.closing.name()))
            (parts::item_select(view, RECORD, "balance", "Balance", ItemKind::Balance))
            @if sample.sieving().is_some() { (Field::text(view, RECORD, "reason", "Why the recorded analysis is replaced")) }
        }))
    }
}

fn closings() -> parts::Options {
    let words = |rule: ClosingRule| format!("{}: {} %", rule.source(), rule.limit_percent());
    ClosingRule::ALL.map(|rule| (rule.name().to_owned(), words(rule))).into()
}

fn mass<'a>(view: &'a View<'_>, name: &str, label: &str) -> Field<'a> {
    Field::number(view, RECORD, name, label).unit("g")
}

fn rules_form(view: &View<'_>) -> Markup {
    let rules = view.lab.sieving_rules();
    Form::new(view, RULES, "Decide").body(html! {
        p.quiet { "The published definitions of the nominal maximum size disagree about one and the same analysis. What is chosen here is proposed for every analysis and recorded with each." }
        (parts::select(view, RULES, "definition", "Nominal maximum size", definitions(), rules.definition.name()))
        (parts::select(view, RULES, "closing", "Closing check", closings(), rules.closing.name()))
        (Field::text(view, RULES, "reason", "On what grounds"))
    })
}

/// What is said beside a mass while an analysis is typed: how far it adds up.
pub(crate) fn said_so_far(request: &Request, facts: &[Fact], field: &str) -> Option<String> {
    let Request::RecordSieving(request) = request else { return None };
    if !(field.starts_with("rows.") || field == "pan_g") {
        return None;
    }
    let closed = facts.iter().find_map(|fact| match fact {
        Fact::SievingRecorded(SievingRecorded {
            retained,
            pan_g,
            before_g,
            after_wash_g,
            closing,
            ..
        }) => SieveAnalysis::new(retained.clone(), *pan_g, *before_g, *after_wash_g)
            .ok()?
            .closing(*closing),
        _ => None,
    });
    closed.map(|closing| closing.to_string()).or_else(|| running(request))
}

/// The grading for the size, where the method chooses by it.
pub(super) fn fitting_of<'a>(method: &'a Method, sample: &Sample) -> Option<&'a Grading> {
    fitting(method, sample.size_mm())
}
