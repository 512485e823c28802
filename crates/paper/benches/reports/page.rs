//! The same report as a page of HTML and CSS, for another typesetter: the same texts in the same places,
//! the same pictures, the same typeface, the square code, a head and a foot on every sheet.

use qrcode::{Color, EcLevel, QrCode};
use std::fmt::Write;
use std::path::Path;
use stonewear_picture::ToleranceStrip;
use stonewear_report::{Specimen, Standing, TestReport};

const STYLE: &str = "
@page{size:A4;margin:20mm 18mm 16mm;@top-left{content:element(band)}
 @bottom-left{content:'Report ' string(number) ' · ' string(laboratory);font:6.9pt Plex;color:#566064}
 @bottom-right{content:'Page ' counter(page) ' of ' counter(pages);font:6.9pt Plex;color:#566064}}
body{font:8.1pt/11.2pt Plex;color:#22292c;margin:0;font-variant-numeric:tabular-nums}
b{font-weight:600}.quiet{color:#566064;font-size:6.9pt}.band{position:running(band);text-align:center;height:5.2mm;
 background:repeating-linear-gradient(135deg,#566064 0 .6pt,#fff .6pt 3.2pt)}.band b{background:#fff;padding:0 3mm}
h1{font-size:15pt;font-weight:600;margin:0;string-set:number attr(data-number)}h2{font-size:8.1pt;font-weight:600;margin:8pt 0 5pt;border-top:.5pt solid #c9c3b8;padding-top:4pt}
table{width:100%;border-collapse:collapse}td,th{vertical-align:top;text-align:left;padding:2.3pt 2.6mm 1.3pt 0;font-weight:400}
.rows td{border-bottom:.35pt solid #c9c3b8}.rows th{border-bottom:.7pt solid #22292c;color:#566064;font-size:6.9pt}
.hero{background:#f4f1eb;padding:3mm 4mm}.value{font-size:46pt;font-weight:600;line-height:1}.n{text-align:right}
.remark{border-left:2.2pt solid #22292c;padding-left:3mm}.head{border-bottom:1.2pt solid #22292c;margin-bottom:2.4mm}
.end{text-align:center}.code svg{width:16mm;height:16mm}.strip svg{width:100%;height:15mm}
.laboratory{string-set:laboratory content()}";

/// The page of a report; the fonts are read from a folder.
pub(crate) fn page(report: &TestReport, fonts: &Path) -> String {
    let mut out = String::new();
    let _ = write!(
        out,
        "<!doctype html><html lang=en><meta charset=utf-8><title>Test report {}: {}</title><style>{}{STYLE}</style>",
        text(&report.number),
        text(&report.title),
        faces(fonts)
    );
    out += "<div class=band><b>Invented data: demonstration laboratory</b></div>";
    head(&mut out, report);
    hero(&mut out, report);
    for deviation in &report.deviations {
        let said = [&deviation.what, &deviation.reason, &deviation.who].map(|one| text(one));
        let _ = write!(out, "<p class=remark><b>Deviation</b> {}</p>", said.join(" "));
    }
    for doubt in &report.doubts {
        let said = [&doubt.what, &doubt.effect, &doubt.since].map(|one| text(one));
        let _ = write!(out, "<p class=remark><b>Doubt</b> {}</p>", said.join(" "));
    }
    facts(&mut out, report);
    for specimen in &report.specimens {
        of_specimen(&mut out, specimen);
    }
    words(&mut out, report);
    evidence(&mut out, report);
    foot(&mut out, report);
    out + "</html>"
}

fn faces(fonts: &Path) -> String {
    let face = |file: &str, more: &str| {
        let path = fonts.join(file);
        format!("@font-face{{font-family:Plex;src:url('file://{}');{more}}}", path.display())
    };
    face("IBMPlexSans-Regular.ttf", "")
        + &face("IBMPlexSans-Italic.ttf", "font-style:italic")
        + &face("IBMPlexSans-SemiBold.ttf", "font-weight:600")
}

fn head(out: &mut String, report: &TestReport) {
    let laboratory = &report.laboratory;
    let _ = write!(
        out,
        "<table class=head><tr><td><b class=laboratory>{}</b><br><span class=quiet>{}<br>{}<br>{}</span><td class=n>\
         <span class=quiet>Test report</span><br><b>{}</b></table><h1 data-number='{4}'>{}</h1><p><b>{}</b>, edition {} · {}</p>",
        text(&laboratory.name),
        text(&laboratory.address.join(", ")),
        text(&laboratory.contact.join(" · ")),
        text(&laboratory.accreditation),
        text(&report.number),
        text(&report.title),
        text(&report.method.designation),
        text(&report.method.edition),
        text(&report.method.title),
    );
}

fn hero(out: &mut String, report: &TestReport) {
    let loss = &report.loss;
    let _ = write!(
        out,
        "<div class=hero><table><tr><td style='width:52mm'><b>{}</b><br><span class=value>{} {}</span>",
        text(&loss.name),
        text(&loss.value),
        text(&loss.unit)
    );
    if let Some(uncertainty) = &loss.uncertainty {
        let said = [
            &uncertainty.expanded,
            &uncertainty.coverage_factor,
            &uncertainty.coverage,
            &uncertainty.basis,
        ];
        let _ = write!(out, "<br>± {}", said.map(|one| text(one)).join(" · "));
    }
    out.push_str("<td>");
    if let Some(decision) = &loss.decision {
        let number = |text: &Option<String>| text.as_deref().and_then(|text| text.parse().ok());
        let strip = ToleranceStrip {
            label: decision.requirement.clone(),
            unit: loss.unit.clone(),
            lower: number(&decision.strip.lower),
            upper: number(&decision.strip.upper),
            value: loss.value.parse().ok(),
            expanded_uncertainty: loss
                .uncertainty
                .as_ref()
                .and_then(|one| one.expanded.parse().ok()),
            guard: None,
        };
        let _ = write!(
            out,
            "<b>{}</b> required: {}<div class=strip>{}</div><table>",
            decision.outcome.words(),
            text(&decision.requirement),
            strip.svg()
        );
        pair(out, "Limit from", &decision.document);
        pair(out, "Rule", &decision.rule);
        out.push_str("</table>");
    }
    out.push_str("</table></div>");
}

fn facts(out: &mut String, report: &TestReport) {
    let (sample, dates, customer) = (&report.sample, &report.dates, &report.customer);
    out.push_str("<table><tr><td><table>");
    pair(out, "Customer", &customer.name);
    pair(out, "Address", &customer.address.join(", "));
    pair(out, "Reference", &customer.reference);
    pair(out, "Project", &report.project);
    pair(out, "For use in", &sample.intended_use);
    pair(out, "Condition", &sample.condition);
    out.push_str("</table><td><table>");
    pair(out, "Sample", &sample.code);
    pair(out, "Material", &sample.material);
    pair(out, "Source", &sample.source);
    pair(out, "Sampling", &sample.sampling);
    out.push_str("</table><td><table>");
    pair(out, "Sampled", &dates.sampled);
    pair(out, "Received", &dates.received);
    pair(out, "Tested", &dates.tested);
    pair(out, "Issued", &dates.issued);
    out.push_str("</table></table>");
}

fn of_specimen(out: &mut String, specimen: &Specimen) {
    let _ = write!(
        out,
        "<h2>Specimen {} · grading {}</h2><table><tr><td style='width:70mm'>",
        text(&specimen.code),
        text(&specimen.grading)
    );
    let fractions = specimen.fractions.iter().map(|one| {
        let size = format!("{} – {}", one.passing_mm, one.retained_mm);
        [size, one.wanted_g.clone(), one.weighed_g.clone(), one.verdict.words().to_owned()]
    });
    rows(out, ["passing – kept on, mm", "wanted g", "weighed g", "verdict"], fractions);
    let weighings = specimen
        .weighings
        .iter()
        .map(|one| [one.symbol.clone(), one.what.clone(), one.mass_g.clone(), one.balance.clone()]);
    rows(out, ["", "weighed", "mass g", "balance"], weighings);
    out.push_str("<td>");
    let conditions = specimen.conditions.iter().map(|one| {
        let verdict = one.verdict.words().to_owned();
        [one.what.clone(), one.observed.clone(), one.limit.clone(), verdict]
    });
    rows(out, ["run", "observed", "limit", "verdict"], conditions);
    out.push_str("</table>");
}

fn words(out: &mut String, report: &TestReport) {
    out.push_str("<table><tr><td style='width:70mm'><h2>How the loss was worked out</h2><table>");
    for line in &report.loss.working {
        pair(out, &line.label, &line.text);
    }
    out.push_str("</table><td><h2>What must be known</h2>");
    for figure in &report.unconfirmed {
        let _ = write!(
            out,
            "{} <b>{}</b> ({}). ",
            text(&figure.name),
            text(&figure.value),
            text(&figure.confidence)
        );
    }
    let _ = write!(out, "<p>Precision of the method: {}</p>", text(&report.precision));
    for line in report.agreement.iter().chain(&report.external) {
        let _ = write!(out, "<p>{}</p>", text(line));
    }
    let _ = write!(out, "<p>{}</p></table>", text(&report.remark));
}

/// Eight links a row, each with its node on the line.
fn evidence(out: &mut String, report: &TestReport) {
    out.push_str("<h2>What the result stands on</h2><table>");
    for row in report.evidence.chunks(8) {
        out.push_str("<tr>");
        for link in row {
            let (node, days) = match &link.standing {
                Standing::Recorded { on } => ("fill='#fff' stroke='#1d6a66'", format!("on {on}")),
                Standing::Proved { since, until } => {
                    let until = until.as_deref().unwrap_or("no end set");
                    ("fill='#1d6a66'", format!("since {since}<br>until {until}"))
                }
                Standing::NotProved { .. } => ("fill='#22292c'", "NOT PROVED".to_owned()),
            };
            let _ = write!(
                out,
                "<td><svg viewBox='0 0 60 12' style='width:100%;height:4.4mm'><path d='M0 6H60' stroke='#1d6a66'/>\
                 <circle cx=5 cy=6 r=4 {node}/></svg><br><span class=quiet>{}</span><br><b>{}</b><br>{}<br>{}<br>{days}",
                text(&link.kind),
                text(&link.code),
                text(&link.name),
                text(&link.state)
            );
        }
    }
    out.push_str("</table>");
}

fn foot(out: &mut String, report: &TestReport) {
    out.push_str("<table><tr><td><span class=quiet>Authorised by</span>");
    if let Some(who) = &report.authorised {
        let _ = write!(
            out,
            "<br><b>{}</b><br>{}<br>{}",
            text(&who.name),
            text(&who.role),
            text(&who.at)
        );
    }
    let _ = write!(out, "<td>{} {}", text(&report.stated), text(&report.laboratory.limits));
    for file in &report.files {
        let _ = write!(out, " {} ({}) {}", text(&file.name), text(&file.of), &file.sha256[..12]);
    }
    if let Some(mark) = &report.mark {
        let _ = write!(
            out,
            "<td class=code>{}<td><span class=quiet>Fingerprint</span><br><b>{}</b>",
            square_code(&mark.scanned),
            text(&mark.printed())
        );
    }
    if let Some(anchor) = &report.anchor {
        let _ = write!(out, "<br>Journal at fact {}, hash {}", anchor.position, text(&anchor.head));
    }
    out.push_str("</table><p class=end>End of report</p>");
}

fn square_code(scanned: &str) -> String {
    let Ok(code) = QrCode::with_error_correction_level(scanned.as_bytes(), EcLevel::M) else {
        return String::new();
    };
    let width = code.width();
    let mut outline = String::new();
    for (at, _) in code.to_colors().iter().enumerate().filter(|(_, one)| **one == Color::Dark) {
        let _ = write!(outline, "M{} {}h1v1h-1z", at % width, at / width);
    }
    let edge = width + 8;
    format!("<svg viewBox='-4 -4 {edge} {edge}'><path d='{outline}'/></svg>")
}

fn rows(out: &mut String, heads: [&str; 4], rows: impl Iterator<Item = [String; 4]>) {
    let cells = |kind: &str, cells: [String; 4]| {
        cells.map(|cell| format!("<{kind}>{}</{kind}>", text(&cell))).concat()
    };
    let _ = write!(out, "<table class=rows><tr>{}</tr>", cells("th", heads.map(str::to_owned)));
    for row in rows {
        let _ = write!(out, "<tr>{}</tr>", cells("td", row));
    }
    out.push_str("</table>");
}

fn pair(out: &mut String, name: &str, value: &str) {
    if !value.is_empty() {
        let _ = write!(out, "<tr><td class=quiet>{}<td>{}", text(name), text(value));
    }
}

fn text(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;")
}
