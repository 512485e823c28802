//! `stonewear guide`: the user guide on the terminal.

use crate::answer::{Answer, Failure};
use serde_json::json;
use stonewear_server::guide::{CHAPTERS, chapter};

/// Print a chapter of the guide, or the list of its chapters. The page has it with pictures, at
/// /guide.
#[derive(Debug, clap::Args)]
#[command(after_help = "\
Example:\n\
\x20 stonewear guide\n\
\x20 stonewear guide first-machine")]
pub(crate) struct Guide {
    /// The chapter, by its name.
    #[arg(value_name = "CHAPTER")]
    chapter: Option<String>,
}

pub(crate) fn run(guide: &Guide) -> Result<Answer, Failure> {
    let Some(name) = &guide.chapter else {
        let lines: String =
            CHAPTERS.iter().map(|one| format!("{:14} {}\n", one.name, one.title())).collect();
        let all: Vec<_> = CHAPTERS
            .iter()
            .map(|one| json!({ "chapter": one.name, "title": one.title() }))
            .collect();
        return Ok(Answer::new(lines, json!({ "chapters": all })));
    };
    let Some(one) = chapter(name) else {
        let names = CHAPTERS.map(|one| one.name).join(", ");
        return Err(Failure::WrongInput(format!(
            "there is no chapter “{name}”; there are {names}"
        )));
    };
    let json = json!({ "chapter": one.name, "title": one.title(), "markdown": one.text });
    Ok(Answer::new(one.plain(), json))
}

#[cfg(test)]
mod tests {
    use crate::arguments::Arguments;
    use clap::CommandFactory;
    use stonewear_server::guide::CHAPTERS;

    /// The commands that the guide shows: the lines of its code blocks that begin with the name
    /// of the program, and the commands within its sentences.
    fn shown() -> Vec<(&'static str, String)> {
        let mut all = Vec::new();
        for one in &CHAPTERS {
            let lines = one.text.lines().map(str::trim);
            all.extend(
                lines
                    .filter(|line| line.starts_with("stonewear "))
                    .map(|l| (one.name, l.to_owned())),
            );
            let in_words = one.text.split('`').skip(1).step_by(2);
            all.extend(
                in_words
                    .filter(|code| code.starts_with("stonewear "))
                    .map(|c| (one.name, c.to_owned())),
            );
        }
        all
    }

    #[test]
    fn every_command_that_the_guide_shows_is_one_that_the_program_takes() {
        let shown = shown();
        assert!(shown.len() >= 5, "{shown:?}");
        for (chapter, line) in shown {
            let taken = Arguments::command().try_get_matches_from(line.split_whitespace());
            assert!(taken.is_ok(), "{chapter}: {line}\n{}", taken.unwrap_err());
        }
    }
}
