//! A busy laboratory of any size, for measuring: one bench after another is opened as the work grows, and
//! they work side by side. Only everyday work, without incidents, and every fact through the real rules.

use crate::equipment::old_mill;
use crate::everyday::Stone;
use crate::scenario::{ENGINEER, MANAGER, STONES, TECHNICIANS, counting_mill, equip, found};
use crate::story::{Batch, DemoError, Story};
use jiff::ToSpan;
use jiff::civil::date;
use jiff::tz::TimeZone;
use stonewear_lab::fact::Fact;
use stonewear_lab::request::{AddPerson, Placement, StartRun};
use stonewear_lab::{RunCode, SampleCode, SpecimenCode};
use stonewear_measure::Decimal;
use stonewear_method::Method;
use stonewear_procedure::{ItemKind, Procedure};

/// Jars of one mill.
const JARS: usize = 4;
/// The most benches that are opened.
const MOST_BENCHES: usize = 6;
/// After so many samples there is work for one more bench.
const SAMPLES_FOR_A_BENCH: usize = 300;

/// A mill with its jars and charges, a balance, and who works there.
struct Bench {
    mill: String,
    balance: String,
    tester: String,
    /// The number of its first jar, and of its first charge.
    first: usize,
}

/// What one bench has at work.
struct Loaded {
    stone: Stone,
    sample: SampleCode,
    made_up: Option<(SpecimenCode, Decimal)>,
}

/// A laboratory with this many released samples.
///
/// # Errors
/// When the scenario breaks a rule of the laboratory, which is a fault in the scenario.
pub fn busy(
    seed: u64,
    samples: usize,
    methods: &[Method],
    procedures: &[Procedure],
) -> Result<Vec<Batch>, DemoError> {
    let monday = date(2024, 11, 18).at(7, 30, 0, 0).to_zoned_datetime(TimeZone::UTC)?.timestamp();
    let mut story = Story::new(seed, monday, methods, procedures);
    found(&mut story)?;
    equip(&mut story)?;
    counting_mill(&mut story)?;
    let mut benches = vec![Bench {
        mill: story.mill.to_owned(),
        balance: "BAL-1".to_owned(),
        tester: TECHNICIANS[1].to_owned(),
        first: 1,
    }];
    let mut done = 0;
    while done < samples {
        if benches.len() < MOST_BENCHES && done >= SAMPLES_FOR_A_BENCH * benches.len() {
            benches.push(story.opens_bench(benches.len() + 1)?);
        }
        story.renew(TECHNICIANS[0])?;
        done += story.round_of(&benches, samples - done)?;
    }
    Ok(story.batches)
}

impl Story<'_> {
    /// Registers and proves everything that one more bench needs.
    fn opens_bench(&mut self, number: usize) -> Result<Bench, DemoError> {
        let first = (number - 1) * JARS + 1;
        let tester = format!("T{number}");
        let bench = Bench {
            mill: format!("MILL-{number}"),
            // The second balance is the spare one, which reads in kilograms.
            balance: format!("BAL-{}", number + 1),
            tester: tester.clone(),
            first,
        };
        let rights = vec!["test".to_owned()];
        let name = format!("Technician {number}");
        self.ask(MANAGER, AddPerson { code: tester, name, rights })?;
        let (title, serial) = (format!("bench balance {number}"), format!("no. 50 {number:03}"));
        self.register(MANAGER, (&bench.balance, ItemKind::Balance, &title, &serial, ""), None)?;
        self.prove(TECHNICIANS[0], MANAGER, &bench.balance)?;
        for place in first..first + JARS {
            let (jar, charge) = (format!("JAR-{place}"), format!("BC-{place}"));
            let (jar_name, its) = (format!("jar {place}"), format!("charge of jar {place}"));
            self.register(MANAGER, (&jar, ItemKind::Jar, &jar_name, "", ""), None)?;
            self.register(MANAGER, (&charge, ItemKind::BallCharge, &its, "", ""), None)?;
            self.prove(TECHNICIANS[0], MANAGER, &jar)?;
            self.prove(TECHNICIANS[0], MANAGER, &charge)?;
        }
        let (title, serial) = (format!("jar mill in bay {number}"), format!("no. 02{number:02}"));
        let mill = (bench.mill.as_str(), ItemKind::Apparatus, title.as_str(), serial.as_str(), "");
        self.register(MANAGER, mill, Some(old_mill()))?;
        self.prove(TECHNICIANS[1], MANAGER, &bench.mill)?;
        Ok(bench)
    }

    /// One load of every bench, `most` samples at most, from the bag to the released loss; how many it was.
    fn round_of(&mut self, benches: &[Bench], most: usize) -> Result<usize, DemoError> {
        self.hands = i64::try_from(benches.len()).unwrap_or(1);
        let mut loads = Vec::new();
        for bench in benches {
            // Stones of one grading: they turn the same count together.
            let first = *self.chance.one_of(&STONES).ok_or(DemoError::Expected("a stone"))?;
            let like_it: Vec<Stone> =
                STONES.into_iter().filter(|stone| stone.grading == first.grading).collect();
            for _ in 0..JARS.min(most - loads.len()) {
                self.by_hand(6)?;
                let stone = *self.chance.one_of(&like_it).ok_or(DemoError::Expected("a stone"))?;
                let sample = self.receive(&bench.tester, stone)?;
                loads.push((bench, Loaded { stone, sample, made_up: None }));
            }
        }
        self.later(20.hours())?;
        for (bench, load) in &mut loads {
            let (by, balance) = (bench.tester.as_str(), bench.balance.as_str());
            load.made_up = Some(self.fractions(by, balance, load.stone, &load.sample)?);
        }
        self.later(4.hours())?;
        for (bench, load) in &loads {
            let Some((specimen, total_g)) = &load.made_up else { continue };
            self.by_hand(3)?;
            self.dry_mass(&bench.tester, &bench.balance, specimen, *total_g)?;
        }
        self.later(90.minutes())?;
        let mut runs = Vec::new();
        for on_bench in loads.chunk_by(|(one, _), (next, _)| one.mill == next.mill) {
            let Some((bench, _)) = on_bench.first() else { continue };
            let specimens = on_bench.iter().filter_map(|(_, load)| Some(&load.made_up.as_ref()?.0));
            self.by_hand(10)?;
            runs.push((bench, self.start_load(bench, specimens)?));
        }
        self.later(125.minutes())?;
        for (bench, (run, wanted)) in runs {
            self.by_hand(2)?;
            self.has_stopped(&bench.tester, &run, wanted)?;
        }
        self.later(18.hours())?;
        for (bench, load) in &loads {
            let Some((specimen, _)) = &load.made_up else { continue };
            self.by_hand(3)?;
            let loss = self.loss_found(load.stone);
            self.weigh_after(&bench.tester, &bench.balance, loss, specimen)?;
        }
        self.later(1.hour())?;
        for (_, load) in &loads {
            let Some((specimen, _)) = &load.made_up else { continue };
            self.later(1.minute())?;
            self.release(ENGINEER, specimen)?;
        }
        self.hands = 1;
        Ok(loads.len())
    }

    /// Starts the mill of a bench with a specimen in each jar.
    fn start_load<'s>(
        &mut self,
        bench: &Bench,
        specimens: impl Iterator<Item = &'s SpecimenCode>,
    ) -> Result<(RunCode, Decimal), DemoError> {
        let mut placements = Vec::new();
        for (place, specimen) in specimens.enumerate() {
            let off = self.chance.between(-30, 30);
            let charge = format!("BC-{}", bench.first + place);
            let charge_g = self.charge_g(&bench.tester, &charge, off)?;
            placements.push(Placement {
                tier: if place < 2 { "upper" } else { "lower" }.to_owned(),
                position: (place % 2 + 1).to_string(),
                specimen: specimen.to_string(),
                jar: format!("JAR-{}", bench.first + place),
                charge,
                charge_g: charge_g.to_string(),
                water_l: "2.00".to_owned(),
                soaked_h: "1.5".to_owned(),
                ..Placement::default()
            });
        }
        let loaded: Vec<(String, String)> =
            placements.iter().map(|one| (one.charge.clone(), one.specimen.clone())).collect();
        let request = StartRun {
            apparatus: bench.mill.clone(),
            ended_by: "revolutions".to_owned(),
            water_c: (20 + self.chance.between(-2, 2)).to_string(),
            placements,
            ..StartRun::default()
        };
        let facts = self.ask(&bench.tester, request)?;
        let Some(Fact::RunStarted { run, revolutions_wanted, .. }) = facts.first() else {
            return Err(DemoError::Expected("a run"));
        };
        for (charge, specimen) in loaded {
            self.wears(&charge, &SpecimenCode::from(specimen.as_str()), *revolutions_wanted);
        }
        Ok((run.clone(), *revolutions_wanted))
    }
}
