//! The door: who asks, and whether what they want can be given in a form that they take.

use super::trouble::{Kind, Trouble};
use crate::app::App;
use crate::door::Guest;
use crate::papers;
use axum::body::Body;
use axum::extract::{OriginalUri, Request, State};
use axum::http::header::{ACCEPT, AUTHORIZATION};
use axum::http::{HeaderMap, Method, Uri};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use stonewear_access::{AccessError, Bearer, Kind as AccessKind, Note, Scope};
use stonewear_runtime::Clock;

/// Lets in who has a token, and hands on who they are.
pub(super) async fn admit(
    State(app): State<App>,
    mut request: Request<Body>,
    next: Next,
) -> Response {
    let guest = request.extensions().get::<Guest>();
    let address = guest.map(|guest| guest.address.clone()).unwrap_or_default();
    let bearer = match bearer(&app, request.headers(), address).await {
        Ok(bearer) => bearer,
        Err(trouble) => return trouble.into_response(),
    };
    if let Err(trouble) = accepted(request.uri(), request.headers()) {
        return trouble.into_response();
    }
    request.extensions_mut().insert(bearer);
    next.run(request).await
}

async fn bearer(app: &App, headers: &HeaderMap, address: String) -> Result<Bearer, Trouble> {
    let access = app.access.clone().map_err(Trouble::not_recorded)?;
    let sent = headers.get(AUTHORIZATION).map(|value| value.to_str().unwrap_or_default());
    let Some(sent) = sent else {
        return Err(Trouble::no_token("no token was sent", false));
    };
    let token = match sent.split_once(' ') {
        Some((scheme, token)) if scheme.eq_ignore_ascii_case("bearer") => token.trim().to_owned(),
        _ => return Err(Trouble::no_token("what was sent is no bearer token", true)),
    };
    let now = app.read().now();
    let asked = tokio::task::spawn_blocking(move || {
        let asked = access.bearer(&token, now)?;
        if let Err(denied) = asked {
            let refused = Note::of(AccessKind::TokenRefused, "").from(&address);
            // By the clock of the machine, whatever the calendar of the laboratory is.
            access.write_refusal(&refused.about(denied.in_words()), Clock::Machine.now())?;
        }
        Ok::<_, AccessError>(asked)
    })
    .await;
    match asked {
        Ok(Ok(Ok(bearer))) => Ok(bearer),
        Ok(Ok(Err(denied))) => Err(Trouble::no_token(denied.in_words(), true)),
        Ok(Err(error)) => Err(Trouble::not_recorded(error.to_string())),
        Err(_) => Err(Trouble::new(Kind::Failed, "the token could not be looked up")),
    }
}

/// Holds that a token goes as far as is needed.
pub(super) fn needs(bearer: &Bearer, wanted: Scope) -> Result<(), Trouble> {
    if bearer.scope >= wanted {
        Ok(())
    } else {
        Err(Trouble::scope_too_narrow(bearer.scope, wanted))
    }
}

/// Holds that the answer comes in a form that is wanted (RFC 9110, section 12.5.1).
fn accepted(uri: &Uri, headers: &HeaderMap) -> Result<(), Trouble> {
    let path = uri.path();
    let given = if path.contains("/files/") {
        // Of which kind a file is turns out when it is found.
        return Ok(());
    } else if path.ends_with("/facts/events") {
        "text/event-stream"
    } else {
        let ending = path.rsplit_once('.').map_or("", |(_, ending)| ending);
        papers::media_type(ending).unwrap_or("application/json")
    };
    let mut wanted =
        headers.get_all(ACCEPT).iter().filter_map(|value| value.to_str().ok()).peekable();
    if wanted.peek().is_none() || wanted.any(|list| takes(list, given)) {
        return Ok(());
    }
    Err(Trouble::new(Kind::NotAcceptable, format!("this comes as {given} only; accept that")))
}

fn takes(list: &str, given: &str) -> bool {
    let family = given.split('/').next().unwrap_or_default();
    list.split(',').any(|range| {
        let mut parts = range.split(';').map(str::trim);
        let name = parts.next().unwrap_or_default();
        let is_it = name.is_empty()
            || name == "*/*"
            || name.eq_ignore_ascii_case(given)
            || name.strip_suffix("/*").is_some_and(|wanted| wanted.eq_ignore_ascii_case(family));
        let weight = parts.find_map(|part| part.strip_prefix("q="));
        let is_never = weight.and_then(|weight| weight.parse::<f32>().ok()) == Some(0.0);
        is_it && !is_never
    })
}

/// There is nothing at this address.
pub(super) async fn not_found(OriginalUri(uri): OriginalUri) -> Trouble {
    Trouble::new(
        Kind::NotFound,
        format!(
            "there is nothing at {}; {}/openapi.json lists what there is",
            uri.path(),
            super::ROOT
        ),
    )
}

/// There is something at this address, and it cannot be asked so.
pub(super) async fn wrong_method(method: Method, OriginalUri(uri): OriginalUri) -> Trouble {
    Trouble::new(
        Kind::WrongMethod,
        format!("{} does not take {method}; the Allow header says what it takes", uri.path()),
    )
}

/// The values of a query, each of which must be one of those that are known here.
pub(super) fn query<const N: usize>(
    uri: &Uri,
    known: [&str; N],
) -> Result<[Option<String>; N], Trouble> {
    let mut values = [const { None }; N];
    for (name, value) in form_urlencoded::parse(uri.query().unwrap_or_default().as_bytes()) {
        let Some(place) = known.iter().position(|known| *known == name) else {
            let list = if known.is_empty() { "none".to_owned() } else { known.join(", ") };
            return Err(Trouble::new(
                Kind::Malformed,
                format!("the query has “{name}”; this address knows: {list}"),
            ));
        };
        if values[place].replace(value.into_owned()).is_some() {
            return Err(Trouble::new(Kind::Malformed, format!("the query has “{name}” twice")));
        }
    }
    Ok(values)
}

/// A whole number of a query, within limits.
pub(super) fn whole(
    name: &str,
    typed: Option<&str>,
    default: u64,
    limits: std::ops::RangeInclusive<u64>,
) -> Result<u64, Trouble> {
    let Some(typed) = typed else { return Ok(default) };
    let is_plain = !typed.is_empty() && typed.bytes().all(|byte| byte.is_ascii_digit());
    let value = if is_plain { typed.parse::<u64>().ok() } else { None };
    value.filter(|value| limits.contains(value)).ok_or_else(|| {
        Trouble::new(
            Kind::Malformed,
            format!(
                "{name} is a whole number from {} to {}, and not “{typed}”",
                limits.start(),
                limits.end()
            ),
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_accepted_is_read_as_rfc_9110_says() {
        for (list, takes_it) in [
            ("*/*", true),
            ("application/json", true),
            ("Application/JSON", true),
            ("application/*", true),
            ("text/html, application/json;q=0.5", true),
            ("text/html", false),
            ("text/*", false),
            ("application/json;q=0", false),
            ("application/json; q=0.0, text/html", false),
            ("application/xml", false),
        ] {
            assert_eq!(takes(list, "application/json"), takes_it, "{list}");
        }
    }

    #[test]
    fn a_query_has_only_what_is_known_and_once() {
        let uri = |text: &str| text.parse::<Uri>().unwrap();
        let [limit, after] = query(&uri("/x?after=S%2026"), ["limit", "after"]).unwrap();
        assert_eq!((limit, after.as_deref()), (None, Some("S 26")));
        assert!(query(&uri("/x?limt=3"), ["limit"]).is_err());
        assert!(query(&uri("/x?limit=3&limit=4"), ["limit"]).is_err());
        assert_eq!(whole("limit", None, 100, 1..=500).unwrap(), 100);
        assert_eq!(whole("limit", Some("007"), 100, 1..=500).unwrap(), 7);
        for wrong in ["", "0", "501", "-1", "+1", "1.0", "x", "99999999999999999999999"] {
            assert!(whole("limit", Some(wrong), 100, 1..=500).is_err(), "{wrong}");
        }
    }
}
