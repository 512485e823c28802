//! The companion tests of the demo laboratory: one stone in the drum, through the cycles of
//! soundness, and weighed for its density.

use crate::equipment::Listed;
use crate::story::{DemoError, Story};
use jiff::ToSpan;
use stonewear_lab::fact::Fact;
use stonewear_lab::request::{
    BeginSpecimen, Placement, ReceiveSample, ReleaseResult, StartRun, StopRun, TakeReading,
    WeighAfter, WeighBefore, WeighFractions,
};
use stonewear_lab::{SampleCode, SpecimenCode};
use stonewear_procedure::ItemKind;

const EQUIPMENT: [Listed<'static>; 4] = [
    ("SV-1.70", ItemKind::Sieve, "sieve 1.70 mm", "no. 4490", "1.70"),
    ("DRUM-1", ItemKind::Drum, "abrasion drum in bay 3", "no. 77-4", ""),
    ("BC-D", ItemKind::BallCharge, "12 balls of the drum", "", ""),
    ("BATH-1", ItemKind::Bath, "sulfate bath", "no. 12", ""),
];

/// The balance of these tests: the spare one, which can be hung over a tank.
const BALANCE: &str = "BAL-2";

impl Story<'_> {
    /// One sample by one test of each family, within a week.
    pub(crate) fn companion_tests(
        &mut self,
        by: &str,
        manager: &str,
        releaser: &str,
    ) -> Result<(), DemoError> {
        for listed in EQUIPMENT {
            self.register(manager, listed, None)?;
            self.prove(by, manager, listed.0)?;
        }
        let sample = self.mixed_sample(by)?;
        let in_bath = self.begin(by, &sample, "astm-c88-magnesium", "coarse")?;
        let shares = ["0", "38.4", "47.1", "14.5"];
        self.read(by, &in_bath, "grading_percent", &shares, "")?;
        self.read(by, &in_bath, "gravity", &["1.302"], "BATH-1")?;
        self.weigh_in(by, &in_bath, &["", "1498", "1001.2", "300.1"])?;

        let in_drum = self.begin(by, &sample, "astm-c131", "A")?;
        self.weigh_in(by, &in_drum, &["1252", "1249", "1250.5", "1249.5"])?;
        self.turn(by, &in_drum)?;
        self.release_of(releaser, &in_drum)?;

        let weighed = self.begin(by, &sample, "astm-c127", "whole")?;
        for (name, value) in
            [("soaked", "23.5"), ("saturated", "4061"), ("in_water", "2561"), ("dry", "4022")]
        {
            self.later(50.minutes())?;
            let with = if name == "soaked" { "" } else { BALANCE };
            self.read(by, &weighed, name, &[value], with)?;
        }
        self.release_of(releaser, &weighed)?;

        self.later(90.hours())?;
        self.read(by, &in_bath, "immersion", &["17"], "BATH-1")?;
        self.read(by, &in_bath, "drained", &["15"], "")?;
        self.read(by, &in_bath, "cycles", &["5"], "BATH-1")?;
        self.later(6.hours())?;
        self.read(by, &in_bath, "kept", &["", "1431", "941.4", "271.6"], BALANCE)?;
        self.release_of(releaser, &in_bath)
    }

    fn mixed_sample(&mut self, by: &str) -> Result<SampleCode, DemoError> {
        let facts = self.ask(
            by,
            ReceiveSample {
                source: "Hollowmere Quarry, face 5".to_owned(),
                material: "crushed dolerite 5/40".to_owned(),
                client: "Brant & Ousel Surfacing".to_owned(),
                project: "Ring road, section 5".to_owned(),
                intended_use: "base course".to_owned(),
                nominal_maximum_mm: "37.5".to_owned(),
                condition: "damp, in two bags".to_owned(),
                limit_percent: "30".to_owned(),
                limit_document: "contract RR-5, schedule B".to_owned(),
                limit_method: "astm-c131".to_owned(),
                ..ReceiveSample::default()
            },
        )?;
        match facts.first() {
            Some(Fact::SampleReceived { sample, .. }) => Ok(sample.clone()),
            _ => Err(DemoError::Expected("a sample")),
        }
    }

    fn begin(
        &mut self,
        by: &str,
        sample: &SampleCode,
        method: &str,
        grading: &str,
    ) -> Result<SpecimenCode, DemoError> {
        self.later(10.minutes())?;
        let facts = self.ask(
            by,
            BeginSpecimen {
                sample: sample.to_string(),
                method: method.to_owned(),
                grading: grading.to_owned(),
                balance: BALANCE.to_owned(),
                deviation: String::new(),
            },
        )?;
        let begun = |fact: &Fact| match fact {
            Fact::SpecimenBegun { specimen, .. } => Some(specimen.clone()),
            _ => None,
        };
        facts.iter().find_map(begun).ok_or(DemoError::Expected("a specimen"))
    }

    fn weigh_in(
        &mut self,
        by: &str,
        specimen: &SpecimenCode,
        masses: &[&str],
    ) -> Result<(), DemoError> {
        self.later(30.minutes())?;
        let masses_g = masses.iter().map(|mass| (*mass).to_owned()).collect();
        let specimen = specimen.to_string();
        self.ask(by, WeighFractions { specimen, masses_g, ..WeighFractions::default() })?;
        Ok(())
    }

    fn read(
        &mut self,
        by: &str,
        specimen: &SpecimenCode,
        reading: &str,
        values: &[&str],
        instrument: &str,
    ) -> Result<(), DemoError> {
        self.later(3.minutes())?;
        self.ask(
            by,
            TakeReading {
                specimen: specimen.to_string(),
                reading: reading.to_owned(),
                values: values.iter().map(|value| (*value).to_owned()).collect(),
                instrument: instrument.to_owned(),
                ..TakeReading::default()
            },
        )?;
        Ok(())
    }

    /// 500 revolutions in the drum, weighed after the first 100 and at the end.
    fn turn(&mut self, by: &str, specimen: &SpecimenCode) -> Result<(), DemoError> {
        self.later(20.minutes())?;
        let (specimen, balance) = (specimen.clone(), BALANCE.to_owned());
        let code = specimen.to_string();
        let weigh = WeighBefore {
            specimen: code.clone(),
            mass_g: "4998".to_owned(),
            balance: balance.clone(),
            ..WeighBefore::default()
        };
        self.ask(by, weigh)?;
        self.later(10.minutes())?;
        let placement = Placement {
            specimen: code.clone(),
            charge: "BC-D".to_owned(),
            charge_g: "4992".to_owned(),
            charge_balls: "12".to_owned(),
            ..Placement::default()
        };
        let facts = self.ask(
            by,
            StartRun {
                apparatus: "DRUM-1".to_owned(),
                placements: vec![placement],
                ..StartRun::default()
            },
        )?;
        let Some(Fact::RunStarted { run, .. }) = facts.first() else {
            return Err(DemoError::Expected("a run"));
        };
        let run = run.to_string();
        self.later(5.minutes())?;
        self.read(by, &specimen, "kept_early", &["4781"], BALANCE)?;
        self.later(18.minutes())?;
        let (revolutions, minutes) = ("500".to_owned(), "15.9".to_owned());
        self.ask(by, StopRun { run, revolutions, minutes, ..StopRun::default() })?;
        self.later(19.hours())?;
        let weigh = WeighAfter {
            specimen: code,
            mass_g: "3923".to_owned(),
            balance,
            sieve: "SV-1.70".to_owned(),
            ..WeighAfter::default()
        };
        self.ask(by, weigh)?;
        Ok(())
    }

    fn release_of(&mut self, releaser: &str, specimen: &SpecimenCode) -> Result<(), DemoError> {
        self.later(40.minutes())?;
        let result = self.lab.result_of(specimen).ok_or(DemoError::Expected("a result"))?;
        let result = result.code.to_string();
        self.ask(releaser, ReleaseResult { result, ..ReleaseResult::default() })?;
        Ok(())
    }
}
