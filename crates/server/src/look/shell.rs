//! The frame of every page: where am I, who is at the bench, how far the journal has come.

use super::{Words, person};
use maud::{DOCTYPE, Markup, html};
use stonewear_language::Language;

/// The few places of the page.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// What is turning now, and what is asked next.
    Benches,
    /// What was received, and the specimens and runs made of it.
    Samples,
    /// What was found.
    Results,
    /// Items and their checks.
    Equipment,
    /// Whether the apparatus is what it was.
    Control,
    /// Test methods.
    Methods,
    /// Who may do what.
    People,
    /// Everything that was recorded.
    Journal,
}

impl Place {
    /// All, in the order in which they are shown.
    pub const ALL: [Self; 8] = [
        Self::Benches,
        Self::Samples,
        Self::Results,
        Self::Equipment,
        Self::Control,
        Self::Methods,
        Self::People,
        Self::Journal,
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Benches => "Benches",
            Self::Samples => "Samples",
            Self::Results => "Results",
            Self::Equipment => "Equipment",
            Self::Control => "In control",
            Self::Methods => "Methods",
            Self::People => "People",
            Self::Journal => "Journal",
        }
    }

    /// Its path.
    pub fn path(self) -> &'static str {
        match self {
            Self::Benches => "/",
            Self::Samples => "/samples",
            Self::Results => "/results",
            Self::Equipment => "/equipment",
            Self::Control => "/control",
            Self::Methods => "/methods",
            Self::People => "/people",
            Self::Journal => "/journal",
        }
    }
}

/// One step of the way to this page: its word and its path.
pub type Crumb<'a> = (Words<'a>, Words<'a>);

/// What the frame says.
#[derive(Debug, Clone, Default)]
pub struct Shell<'a> {
    /// The laboratory's name; empty before it is founded.
    pub laboratory: Words<'a>,
    /// The page's heading and title.
    pub title: Words<'a>,
    /// A sentence below the heading; may be empty.
    pub lead: Words<'a>,
    /// The path of this page, to come back to after the language was chosen; empty for a page
    /// that cannot be asked for again.
    pub here: Words<'a>,
    /// The place that the page belongs to.
    pub place: Option<Place>,
    /// Where the guide helps at this page: words and path.
    pub help: Option<Crumb<'a>>,
    /// The way to this page, without the page itself.
    pub crumbs: Vec<Crumb<'a>>,
    /// Sign and name of who is at the bench.
    pub person: Option<(Words<'a>, Words<'a>)>,
    /// How many facts the journal has, and the hash of the last, as hexadecimal digits.
    pub journal: Option<(u64, Words<'a>)>,
    /// Everything here is invented: the demo laboratory.
    pub is_invented: bool,
    /// Why nothing can be recorded, if so.
    pub read_only: Option<Words<'a>>,
    /// The server's clock when the page was made, as an RFC 3339 instant, for the run's clock.
    pub now: Words<'a>,
    /// The key of a draft that was accepted and need not be kept any longer.
    pub draft_clear: Option<Words<'a>>,
    /// What tells this laboratory from every other: the hash of the first fact of its journal;
    /// empty before it is founded.
    pub first_hash: Words<'a>,
    /// Nobody has signed in here yet: the places are not shown, and nothing leads to them.
    pub is_outside: bool,
    /// People prove who they are: an entry that waits is sent only by who made it.
    pub has_accounts: bool,
    /// `light` or `dark`, where the page shall not follow the device.
    pub theme: Option<&'static str>,
}

impl Shell<'_> {
    /// The whole page around `body`.
    pub fn page(&self, body: &Markup) -> Markup {
        let now = (!self.now.is_empty()).then_some(&self.now);
        html! {
            (DOCTYPE)
            html lang="en" data-theme=[self.theme] {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    title {
                        (self.title)
                        @if !self.laboratory.is_empty() { " – " (self.laboratory) }
                    }
                    @if let Some(key) = &self.draft_clear { meta name="draft-clear" content=(key); }
                    link rel="icon" href="/assets/icon.svg" type="image/svg+xml";
                    link rel="stylesheet" href="/assets/stonewear.css";
                    @if self.journal.is_some() { script src="/assets/live.js" defer {} }
                    @if self.is_outside { script src="/assets/outside.js" defer {} }
                    script src="/assets/bench.js" defer {}
                    script src="/assets/keys.js" defer {}
                    // A first load is small: what only a check or a run needs comes with it.
                    @if body.0.contains("data-awake") { script src="/assets/steps.js" defer {} }
                    // Only where there is a chart to read.
                    @if body.0.contains("data-says") { script src="/assets/charts.js" defer {} }
                    // Only where a passkey may be used.
                    @if body.0.contains("data-passkey") { script src="/assets/passkey.js" defer {} }
                    script src="/assets/palette.js" defer {}
                    script src="/assets/waiting.js" defer {}
                }
                body data-now=[now] data-laboratory=[(!self.first_hash.is_empty()).then_some(&self.first_hash)]
                    data-seat=[self.person.as_ref().map(|(sign, _)| sign)]
                    data-accounts[self.has_accounts]
                    data-position=[self.journal.as_ref().map(|(position, _)| position)]
                    // What only scripts say; they find it here.
                    data-say-offline="Not judged: the laboratory cannot be reached."
                    data-say-judging="Typing; not judged yet."
                    data-say-kept="Kept on this tablet, not yet sent."
                    data-say-not-kept="Not kept: this browser does not let the page store anything."
                    data-say-done="done by the clock"
                    data-say-news="Something here was changed at another place. What you typed is kept."
                    data-say-show="Show it"
                    data-say-show-both="Show both"
                    data-say-show-phrase="Show the pass phrase" data-say-hide-phrase="Hide the pass phrase"
                    data-say-signed-out="You are signed out. What you typed is kept on this tablet."
                    data-say-sign-in="Sign in"
                    data-say-waits-for="Waits until {person} signs in here: only they can send it."
                    data-say-answered-elsewhere="You typed {typed} for “{step}”, which was recorded at another place meanwhile. What you typed is kept on this tablet."
                    data-say-waiting-here="Waiting on this tablet"
                    data-say-unreached="The laboratory cannot be reached. What you enter is kept on this tablet."
                    data-say-from-tablet="The laboratory cannot be reached. This page is from this tablet, as of {time}: it may have changed since."
                    data-say-waits-one="1 entry waits on this tablet. It is sent when the laboratory answers; only then is it recorded."
                    data-say-waits-many="{number} entries wait on this tablet. They are sent in this order when the laboratory answers; only then are they recorded."
                    data-say-refused-one="1 entry that waited was refused. Nothing of it is recorded; what was typed is kept here."
                    data-say-refused-many="{number} entries that waited were refused. Nothing of them is recorded; what was typed is kept here."
                    data-say-of-another="Kept here for another laboratory, and sent only to it: {number}."
                    data-say-sent="Recorded: {what}."
                    data-say-withdrawn="Withdrawn: {what}. If it had reached the laboratory before the line was lost, it is recorded there."
                    data-say-made-by="{time}, by {person}"
                    data-say-refused="Refused:"
                    data-say-held="Waits behind the refused entry of the same page."
                    data-say-look="Look at it"
                    data-say-open="Open its page"
                    data-say-let-go="Let it go"
                    data-say-withdraw="Withdraw it"
                    data-say-waits-here="Waits on this tablet: {what}"
                    data-say-go-on="It is so: go on to the next step"
                    data-say-go-on-if="Not judged yet: the laboratory cannot be reached. Go on only if the reading is within {limit}; the laboratory judges it when it answers."
                    data-say-not-stored="It cannot be sent now, and this browser has no room to keep it: it stands in this form only. Do not close the page."
                    data-say-file-cannot-wait="The laboratory cannot be reached, and a file cannot wait on this tablet. The form stays as it is; send it again when the line is back."
                    data-say-cannot-wait="The laboratory cannot be reached. This does not wait: it is done with the laboratory in view. The form stays as it is; send it again when the line is back."
                    data-say-awake="The screen stays on."
                    data-say-not-awake="The screen may go dark."
                    data-say-let-sleep="Let the screen go dark"
                    data-say-keep-awake="Keep the screen on"
                    data-say-finding="{number} found"
                    data-say-found-nothing="Nothing found"
                    data-say-open-point="Open" data-say-read="Arrow keys move from value to value." {
                    a.skip href="#main" { "To the content" }
                    header { (self.bands()) div.head { (self.head()) } }
                    main id="main" tabindex="-1" {
                        div.page-head {
                            (self.crumbs())
                            h1 { (self.title) }
                            @if !self.lead.is_empty() { p { (self.lead) } }
                            @if let Some((words, path)) = &self.help { p.help-here { a href=(path) { (words) } } }
                        }
                        (body)
                    }
                    footer.foot { (self.foot()) }
                }
            }
        }
    }

    fn bands(&self) -> Markup {
        html! {
            @if self.is_invented {
                div.band role="note" {
                    b { "Demo laboratory." } " Its people, quarries, samples and results are invented."
                }
            }
            @if let Some(why) = &self.read_only {
                div class="band read-only" role="note" { b { "Nothing can be recorded." } " " (why) }
            }
        }
    }

    fn head(&self) -> Markup {
        html! {
            div.head-row {
                a.laboratory href="/" {
                    img src="/assets/icon.svg" alt="" width="28" height="28";
                    @if self.laboratory.is_empty() { "Stonewear" } @else { (self.laboratory) }
                }
                @if !self.laboratory.is_empty() && !self.is_outside { (find_box()) }
                @match &self.person {
                    _ if self.is_outside => {}
                    Some((sign, name)) => {
                        a.seat href="/who" { span.off-page { "At the bench: " } (person(sign, name)) }
                    }
                    None => { a.seat href="/who" { "Who is at the bench?" } }
                }
            }
            @if !self.is_outside { (self.places()) }
        }
    }

    fn places(&self) -> Markup {
        html! {
            nav.nav aria-label="Places" {
                ul {
                    @for place in Place::ALL {
                        li {
                            a href=(place.path())
                                aria-current=[(self.place == Some(place)).then_some("true")] {
                                (place.word())
                            }
                        }
                    }
                }
            }
        }
    }

    fn crumbs(&self) -> Markup {
        html! {
            @if !self.crumbs.is_empty() {
                nav.crumbs aria-label="The way here" {
                    ol { @for (word, path) in &self.crumbs { li { a href=(path) { (word) } } } }
                }
            }
        }
    }

    fn foot(&self) -> Markup {
        html! {
            @if let Some((position, head)) = &self.journal {
                span { "Journal: " b { (position) } " facts" }
                // Enough of the hash to compare by eye; the journal's page has all of it.
                span { "Head " code { (head.chars().take(16).collect::<String>()) } }
            }
            @if !self.is_outside { span { a href="/guide" { "Guide" } } }
            span { "Stonewear " (env!("CARGO_PKG_VERSION")) }
            @if !self.here.is_empty() { (self.languages()) }
        }
    }

    /// The languages, each by its own name; the stylesheet marks the one that the page is in.
    fn languages(&self) -> Markup {
        html! {
            form.languages method="post" action="/language" aria-label="Language" {
                input type="hidden" name="back" value=(self.here);
                @for language in Language::ALL {
                    button type="submit" name="language" value=(language.tag()) lang=(language.tag())
                        translate="no" { (language.own_name()) }
                }
            }
        }
    }
}

/// Where a code is typed or scanned, on every page; the script leads the key `/` to it.
fn find_box() -> Markup {
    html! {
        form.find method="get" action="/find" role="search" {
            label.off-page for="find" { "Code or name" }
            input id="find" name="q" type="search" placeholder="Scan a code, or find ( / )"
                autocomplete="off" autocapitalize="off" spellcheck="false" data-find;
        }
    }
}

/// The button that sends the form.
pub fn button<'a>(words: impl Into<Words<'a>>) -> Markup {
    html! { button.button type="submit" { (words.into()) } }
}

/// A button that sends the form with `name=value`, beside the first one.
pub fn second_button<'a>(words: impl Into<Words<'a>>, name: &str, value: &str) -> Markup {
    html! { button class="button second" type="submit" name=(name) value=(value) { (words.into()) } }
}

/// A button for what cannot be taken back, such as retiring an item.
pub fn grave_button<'a>(words: impl Into<Words<'a>>) -> Markup {
    html! { button class="button grave" type="submit" { (words.into()) } }
}

/// A link that is as large as a button.
pub fn link_button<'a>(words: impl Into<Words<'a>>, href: &str) -> Markup {
    html! { a class="button second" href=(href) { (words.into()) } }
}

/// Buttons in a row.
pub fn actions(buttons: &Markup) -> Markup {
    html! { div.actions { (buttons) } }
}
