//! One's own passkeys.

use super::accounts::phrase;
use super::parts;
use super::sign_in::{field, wrong};
use super::{Page, View};
use crate::look;
use maud::{Markup, html};
use stonewear_access::{Passkey, Site};

/// What the page shows.
pub(crate) struct Own {
    pub(crate) passkeys: Vec<Passkey>,
    /// The page as passkeys see it; none where it was opened by a number.
    pub(crate) site: Option<Site>,
    /// The same page by a name, where it was opened by the number of this machine.
    pub(crate) by_name: Option<String>,
}

/// One's own passkeys.
pub(crate) fn own(view: &View<'_>, own: &Own) -> Page {
    let body = html! {
        @if !view.typed.problems.is_empty() { (wrong(view)) }
        (list(view, own))
        (parts::section("Add a passkey", add(view, own)))
        section.section {
            h2 { "What it means" }
            ul {
                li { "It signs you in here, and signs for you, instead of your pass phrase. The phrase stays good." }
                li { "Your finger, face or PIN does not leave your device. Kept here is only a public key, with which nobody can sign in." }
                li { "Have one on your own device and not on a tablet that several people unlock: whoever can unlock it can be you." }
                li { "One that is lost is removed here. Who has lost everything gets a code from an owner of accounts; that removes all passkeys." }
            }
        }
    };
    Page::new("Your passkeys", body)
        .lead("A key on your tablet, phone or a stick of its own signs you in by a finger, your face or its PIN, without a pass phrase.")
        .below("Who is at the bench?", "/who")
}

fn list(view: &View<'_>, own: &Own) -> Markup {
    if own.passkeys.is_empty() {
        return html! { p { "You have none." } };
    }
    let rows = own.passkeys.iter().map(|passkey| {
        vec![
            html! { span translate="no" { (passkey.name) } },
            html! { span translate="no" { (passkey.site) } },
            html! { @if let Some(at) = passkey.added_at { (parts::moment(view, at)) } },
            html! { @if let Some(at) = passkey.used_at { (parts::moment(view, at)) } @else { "–" } },
        ]
    });
    let only = match own.passkeys.as_slice() {
        [one] => one.number.to_string(),
        _ => view.typed.sent_field("number").unwrap_or_default().to_owned(),
    };
    let which = look::Select::new("number", "Which passkey").scope("rename").chosen(only);
    let head = ["Name", "For the page at", "Added", "Last used"];
    html! {
        (parts::table("Passkeys, oldest first", &head, &[], rows.collect()))
        form.panel method="post" action="/account/passkeys" novalidate {
            (own.passkeys.iter().fold(which, |which, one| which.option(one.number.to_string(), one.name.clone())))
            (field(view, "name", "Another name").scope("rename").value(String::new()))
            (phrase(view, "rename"))
            div.actions {
                button class="button second" type="submit" name="do" value="name" { "Rename it" }
                button class="button grave" type="submit" name="do" value="remove" { "Remove it" }
            }
        }
    }
}

fn add(view: &View<'_>, own: &Own) -> Markup {
    if own.site.is_none() {
        return html! {
            p { "This page was opened by a number, and passkeys are made for names. Open it by the name of the machine." }
            @if let Some(path) = &own.by_name { (parts::go("Open it by the name of this machine", path)) }
        };
    }
    html! {
        form.panel method="post" action="/account/passkeys" novalidate data-passkey="add"
            data-say-not-used="No passkey was made. The device needs a lock of its own, and may have one for this page already." {
            input type="hidden" name="do" value="add";
            input type="hidden" name="passkey";
            (field(view, "name", "What you call it").hint("such as “phone” or “blue stick”"))
            (phrase(view, "add"))
            (look::actions(&look::button("Add a passkey")))
            p role="status" {}
            noscript { p { "It needs the script of this page, which this browser does not run." } }
        }
    }
}
