//! Secrets stand in forms and cookies, and nowhere that is kept, logged or shown again.

use crate::accounts::{OTHER, PHRASE, give_do_an_account, sign_in, with_accounts};
use crate::markup;
use crate::site::Answer;
use axum::http::StatusCode;

/// Where an answer leads, and every address that its page names.
fn addresses(answer: &Answer) -> Vec<String> {
    let mut all = vec![answer.header("location").to_owned()];
    if !answer.body.is_empty() {
        all.extend(markup::links(&answer.body));
    }
    all
}

#[test]
fn no_secret_stands_in_an_address_or_on_a_page() {
    let mut site = with_accounts();
    give_do_an_account(&mut site);
    let mut answers = vec![sign_in(&mut site, "IK", PHRASE)];
    assert!(!site.held.is_empty(), "a session is held");
    for path in ["/", "/accounts", "/who", "/people/IK", "/samples", "/programs", "/find?q=IK"] {
        answers.push(site.get(path));
    }
    let refused = sign_in(&mut site, "DO", "a phrase that is not theirs");
    assert_eq!(refused.status, StatusCode::UNPROCESSABLE_ENTITY);
    answers.push(refused);
    let secrets: Vec<String> = site
        .held
        .values()
        .filter(|value| value.len() > 20)
        .cloned()
        .chain([PHRASE, OTHER, "a phrase that is not theirs"].map(str::to_owned))
        .collect();
    assert!(secrets.len() > 3, "a session's secret is among them");
    for answer in &answers {
        for secret in &secrets {
            let said = addresses(answer).into_iter().find(|address| {
                address.contains(secret) || address.contains(&secret.replace(' ', "+"))
            });
            assert_eq!(said, None, "an address holds a secret");
            assert!(!answer.body.contains(secret.as_str()), "a page shows {secret:?}");
        }
    }
}
