//! Kills the real program at random moments while several clients record, starts it again, and holds
//! that whatever was acknowledged is there, once, at its place, that the chain is whole and its signatures
//! hold, and that the newest backup comes back.
//!
//! `cargo test -p stonewear --test crash` kills it 25 times. A long run is
//! `cargo test -p stonewear --test crash -- --kills 2000`; its figures stand in `docs/safety.md`.
//! `--program FILE` kills another build of the program than the one beside it.
//! A run is repeated by `--seed`: the moments of the kills and what is sent are drawn from it. What the
//! machine does meanwhile is not.
//!
//! It is a test program with a `main` of its own, so that it takes these numbers, and it lies beside the
//! program that it kills, so that cargo hands it the path.
//!
//! SIGKILL takes the process away between any two instructions. What the system had taken over by then
//! still reaches the disk, so a power cut is more than this; that the program asks the disk before it
//! answers is the business of SQLite's `synchronous = full`.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test that fails here says where")]

mod client;
mod judge;
mod program;

use client::{Client, Figures};
use program::{Laboratory, Server};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::path::PathBuf;
use std::time::{Duration, Instant};

/// Kills of the run that is part of the suite.
const USUAL: u64 = 25;
/// Writers at once.
const CLIENTS: usize = 4;
/// Kills after which a fresh laboratory is taken, so that starting stays quick.
const KILLS_OF_ONE: u64 = 40;
/// The longest time that a server is let work before it is killed.
const LONGEST_LIFE: Duration = Duration::from_millis(350);
/// One in so many kills hits a server that is still starting.
const STARTING: u32 = 8;
/// Within this time after it was begun.
const START: Duration = Duration::from_millis(200);

fn main() {
    let asked = Asked::read();
    let Some(Asked { kills, seed, program }) = asked else { return };
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let began = Instant::now();
    let mut all = Figures::default();
    let (mut done, mut while_starting, mut laboratories) = (0, 0, 0);
    while done < kills {
        let laboratory = Laboratory::founded(&program);
        laboratories += 1;
        let mut clients: Vec<Client> =
            (0..CLIENTS).map(|number| Client::new(number, chance.random())).collect();
        let wanted = KILLS_OF_ONE.min(kills - done);
        for kill in 0..wanted {
            if chance.random_ratio(1, STARTING) {
                Server::begun(&laboratory).killed_after(within(&mut chance, START));
                while_starting += 1;
                continue;
            }
            let server = Server::ready(&laboratory);
            judge::holds(&laboratory, &clients, &format!("seed {seed}, kill {}", done + kill));
            server.killed_after_work(within(&mut chance, LONGEST_LIFE), &laboratory, &mut clients);
        }
        done += wanted;
        // Once more in peace: what is open is answered, what was answered is answered alike.
        let server = Server::ready(&laboratory);
        for client in &mut clients {
            client.settles(&server, &laboratory);
        }
        judge::holds(&laboratory, &clients, &format!("seed {seed}, after kill {done}"));
        server.killed_after(Duration::ZERO);
        let facts = laboratory.verified();
        laboratory.comes_back();
        for client in &clients {
            all.add(client.figures());
        }
        all.facts += facts;
        if kills > USUAL {
            println!("{done} kills, {:.0} s: {all:?}", began.elapsed().as_secs_f64());
        }
    }
    println!(
        "crash: seed {seed}; {kills} kills ({while_starting} of them while starting) over {laboratories} \
         laboratories, {CLIENTS} writers, {:.0} s: {} answers acknowledged, {} open at a kill \
         ({} of them were recorded, {} were not), {} answers asked for again and the same; {} facts; \
         lost 0, doubled 0, chains broken 0",
        began.elapsed().as_secs_f64(),
        all.acknowledged,
        all.open,
        all.open_recorded,
        all.open - all.open_recorded,
        all.same_again,
        all.facts,
    );
    assert!(all.acknowledged > kills, "the clients were answered too seldom to show anything");
    assert!(all.open > 0, "no kill hit an entry on its way");
}

fn within(chance: &mut Xoshiro256PlusPlus, longest: Duration) -> Duration {
    Duration::from_micros(chance.random_range(0..longest.as_micros() as u64))
}

/// What the command line asks for.
struct Asked {
    kills: u64,
    seed: u64,
    program: PathBuf,
}

impl Asked {
    /// `None` when the run is asked for other tests by their name.
    fn read() -> Option<Self> {
        let program = PathBuf::from(program::BESIDE);
        let mut asked = Self { kills: USUAL, seed: 0x5e_ed, program };
        let mut words = std::env::args().skip(1);
        while let Some(word) = words.next() {
            let mut value = || words.next().unwrap_or_else(|| panic!("{word} wants a value"));
            match word.as_str() {
                "--kills" => asked.kills = value().parse().unwrap(),
                "--seed" => asked.seed = value().parse().unwrap(),
                "--program" => asked.program = value().into(),
                // What cargo hands to every test program, and what people add for the others.
                flag if flag.starts_with('-') => {}
                name if "crash".contains(name) => {}
                _ => return None,
            }
        }
        Some(asked)
    }
}
