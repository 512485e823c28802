//! The user guide, built into the program: chapters in Markdown from `docs/guide/`, with their
//! pictures. It is served at `/guide` and printed by `stonewear guide`, so that it is at hand where
//! there is no other network than the bench's.

mod pictures;

pub(crate) use pictures::picture;

use pulldown_cmark::{CowStr, Event, HeadingLevel, Options, Parser, Tag, TagEnd, html};

/// One chapter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Chapter {
    /// Its name in addresses and on the command line: `everyday-test`.
    pub name: &'static str,
    /// Its Markdown; the first line is its title.
    pub text: &'static str,
}

/// All chapters, in the order in which they are read.
pub const CHAPTERS: [Chapter; 8] = [
    Chapter { name: "first-machine", text: include_str!("../../../docs/guide/first-machine.md") },
    Chapter { name: "everyday-test", text: include_str!("../../../docs/guide/everyday-test.md") },
    Chapter { name: "failed-check", text: include_str!("../../../docs/guide/failed-check.md") },
    Chapter { name: "in-control", text: include_str!("../../../docs/guide/in-control.md") },
    Chapter { name: "papers", text: include_str!("../../../docs/guide/papers.md") },
    Chapter { name: "people", text: include_str!("../../../docs/guide/people.md") },
    Chapter { name: "line-drops", text: include_str!("../../../docs/guide/line-drops.md") },
    Chapter { name: "safety", text: include_str!("../../../docs/guide/safety.md") },
];

/// The chapter of this name.
pub fn chapter(name: &str) -> Option<&'static Chapter> {
    CHAPTERS.iter().find(|chapter| chapter.name == name)
}

impl Chapter {
    /// Its title, without the mark of a heading.
    pub fn title(&self) -> &'static str {
        self.text.lines().next().unwrap_or_default().trim_start_matches('#').trim()
    }

    /// What follows the title.
    fn below_title(&self) -> &'static str {
        self.text.split_once('\n').map_or("", |(_, rest)| rest)
    }

    /// As markup, without the title. Headings have ids, so that a page can lead to one of them;
    /// with `in_whole` they lie a level deeper and their ids carry the name of the chapter.
    pub(crate) fn markup(&self, in_whole: bool) -> String {
        let mut events: Vec<Event<'_>> =
            Parser::new_ext(self.below_title(), Options::ENABLE_TABLES).collect();
        let mut at = 0;
        while at < events.len() {
            match &events[at] {
                Event::Start(Tag::Heading { level, .. }) => {
                    let words = text_until_end(&events[at + 1..]);
                    let id = if in_whole {
                        format!("{}-{}", self.name, slug(&words))
                    } else {
                        slug(&words)
                    };
                    events[at] = Event::Start(Tag::Heading {
                        level: if in_whole { deeper(*level) } else { *level },
                        id: Some(id.into()),
                        classes: Vec::new(),
                        attrs: Vec::new(),
                    });
                }
                Event::End(TagEnd::Heading(level)) if in_whole => {
                    events[at] = Event::End(TagEnd::Heading(deeper(*level)));
                }
                Event::Start(Tag::Link { link_type, dest_url, title, id }) => {
                    events[at] = Event::Start(Tag::Link {
                        link_type: *link_type,
                        dest_url: address(dest_url, in_whole),
                        title: title.clone(),
                        id: id.clone(),
                    });
                }
                Event::Start(Tag::Image { link_type, dest_url, title, id }) => {
                    events[at] = Event::Start(Tag::Image {
                        link_type: *link_type,
                        dest_url: format!("/guide/{dest_url}").into(),
                        title: title.clone(),
                        id: id.clone(),
                    });
                }
                // The guide holds no markup of its own; what looks like some is text.
                Event::Html(text) | Event::InlineHtml(text) => {
                    events[at] = Event::Text(text.clone());
                }
                _ => {}
            }
            at += 1;
        }
        let mut markup = String::with_capacity(self.text.len() * 2);
        html::push_html(&mut markup, events.into_iter());
        // A table that is wider than its window is moved within its frame, by keyboard too.
        markup
            .replace(
                "<table>",
                r#"<div class="table" tabindex="0" role="region" aria-label="Table"><table>"#,
            )
            .replace("</table>", "</table></div>")
    }

    /// As text for a terminal: the Markdown, with the words of each picture in its place.
    pub fn plain(&self) -> String {
        let mut text = String::with_capacity(self.text.len());
        for line in self.text.lines() {
            let picture = line.strip_prefix("![").and_then(|rest| rest.split_once("]("));
            match picture {
                Some((words, _)) => text.push_str(&format!("[picture: {words}]")),
                None => text.push_str(&line.replace("**", "")),
            }
            text.push('\n');
        }
        text
    }

    /// The ids of its headings.
    #[cfg(test)]
    fn headings(&self) -> Vec<String> {
        let headings = self.text.lines().filter(|line| line.starts_with("## "));
        headings.map(|line| slug(line.trim_start_matches('#'))).collect()
    }
}

/// The chapter that helps at a page of the program; the first page of a new laboratory leads to
/// its first machine, later to the everyday test.
pub(crate) fn for_page(path: &str, is_new: bool) -> Option<&'static Chapter> {
    let name = match path.split('/').nth(1)? {
        "" if is_new => "first-machine",
        "" => "everyday-test",
        "equipment" | "checks" | "methods" => "first-machine",
        "samples" | "specimens" | "runs" | "results" | "policies" => "everyday-test",
        "doubts" => "failed-check",
        "control" | "studies" | "duplicates" | "rounds" | "proficiency" | "experiments" | "due" => {
            "in-control"
        }
        "papers" | "letterhead" | "journal" | "export" | "imports" => "papers",
        "people" | "who" | "programs" => "people",
        _ => return None,
    };
    chapter(name)
}

/// A link within the guide as an address: `safety.md#lifting` is `/guide/safety#lifting`.
fn address(link: &CowStr<'_>, in_whole: bool) -> CowStr<'static> {
    let (file, part) = link.split_once('#').unwrap_or((link, ""));
    let Some(name) = file.strip_suffix(".md") else { return link.to_string().into() };
    match (in_whole, part) {
        (true, "") => format!("#{name}"),
        (true, part) => format!("#{name}-{part}"),
        (false, "") => format!("/guide/{name}"),
        (false, part) => format!("/guide/{name}#{part}"),
    }
    .into()
}

fn text_until_end(events: &[Event<'_>]) -> String {
    let heading =
        events.iter().take_while(|event| !matches!(event, Event::End(TagEnd::Heading(_))));
    heading
        .filter_map(|event| match event {
            Event::Text(text) | Event::Code(text) => Some(text.as_ref()),
            _ => None,
        })
        .collect()
}

fn deeper(level: HeadingLevel) -> HeadingLevel {
    match level {
        HeadingLevel::H1 => HeadingLevel::H2,
        HeadingLevel::H2 => HeadingLevel::H3,
        _ => HeadingLevel::H4,
    }
}

/// The id of a heading: its words in small letters, joined by hyphens.
fn slug(words: &str) -> String {
    let words = words.to_lowercase();
    let parts =
        words.split(|letter: char| !letter.is_alphanumeric()).filter(|part| !part.is_empty());
    parts.collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    /// Every target of a link or picture, in a chapter's Markdown.
    fn targets(chapter: &Chapter) -> Vec<(bool, String)> {
        Parser::new_ext(chapter.text, Options::ENABLE_TABLES)
            .filter_map(|event| match event {
                Event::Start(Tag::Link { dest_url, .. }) => Some((false, dest_url.to_string())),
                Event::Start(Tag::Image { dest_url, .. }) => Some((true, dest_url.to_string())),
                _ => None,
            })
            .collect()
    }

    #[test]
    fn every_link_and_picture_of_the_guide_leads_somewhere() {
        let mut faults = Vec::new();
        let mut shown = BTreeSet::new();
        for one in &CHAPTERS {
            for (is_picture, target) in targets(one) {
                let is_there = if is_picture {
                    let name = target.strip_prefix("pictures/").unwrap_or_default();
                    shown.insert(name.to_owned());
                    picture(name).is_some()
                } else {
                    let (file, part) = target.split_once('#').unwrap_or((&target, ""));
                    file.strip_suffix(".md").and_then(chapter).is_some_and(|other| {
                        part.is_empty() || other.headings().iter().any(|id| id == part)
                    })
                };
                if !is_there {
                    faults.push(format!("{}: {target}", one.name));
                }
            }
        }
        assert!(faults.is_empty(), "{faults:#?}");
        let built_in: BTreeSet<String> =
            pictures::PICTURES.iter().map(|(name, _)| (*name).to_owned()).collect();
        assert_eq!(shown, built_in, "pictures shown, and pictures built in");
    }

    #[test]
    fn every_file_of_the_folder_is_a_chapter_or_a_picture() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/guide");
        let names = |below: &str, ending: &str| -> BTreeSet<String> {
            let files =
                std::fs::read_dir(format!("{folder}/{below}")).expect("the folder is there");
            files
                .filter_map(|file| file.ok()?.file_name().into_string().ok())
                .filter_map(|name| name.strip_suffix(ending).map(str::to_owned))
                .collect()
        };
        let chapters: BTreeSet<String> = CHAPTERS.iter().map(|one| one.name.to_owned()).collect();
        assert_eq!(names("", ".md"), chapters);
        let pictures: BTreeSet<String> = pictures::PICTURES
            .iter()
            .map(|(name, _)| name.trim_end_matches(".png").to_owned())
            .collect();
        assert_eq!(names("pictures", ".png"), pictures);
        let bytes: usize = pictures::PICTURES.iter().map(|(_, bytes)| bytes.len()).sum();
        assert!(bytes < 2_000_000, "{bytes} bytes of pictures");
    }

    #[test]
    fn links_are_addresses_of_the_page_or_places_in_the_whole() {
        for (link, page, whole) in [
            ("safety.md", "/guide/safety", "#safety"),
            ("safety.md#lifting", "/guide/safety#lifting", "#safety-lifting"),
            ("https://example.org/", "https://example.org/", "https://example.org/"),
        ] {
            assert_eq!(address(&link.into(), false).as_ref(), page);
            assert_eq!(address(&link.into(), true).as_ref(), whole);
        }
    }

    #[test]
    fn headings_have_ids_that_follow_from_their_words() {
        let one = Chapter { name: "one", text: "# One\n\n## Two & `three`\n\n<b>text</b>\n" };
        assert_eq!(one.title(), "One");
        assert!(one.markup(false).contains(r#"<h2 id="two-three">"#), "{}", one.markup(false));
        assert!(one.markup(true).contains(r#"<h3 id="one-two-three">"#));
        assert!(one.markup(false).contains("&lt;b&gt;text"));
    }

    #[test]
    fn on_a_terminal_a_picture_is_its_words() {
        let one = Chapter {
            name: "one",
            text: "# One\n![What it shows](pictures/x.png)\nPress **Go**.\n",
        };
        assert_eq!(one.plain(), "# One\n[picture: What it shows]\nPress Go.\n");
    }
}
