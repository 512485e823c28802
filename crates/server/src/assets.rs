//! Stylesheet, script and fonts, built into the program.

use crate::look::ASSETS;
use axum::extract::Path;
use axum::http::header::{ACCEPT_ENCODING, CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE, VARY};
use axum::http::{HeaderMap, StatusCode, Uri};
use axum::response::{Html, IntoResponse, Response};
use flate2::Compression;
use flate2::write::GzEncoder;
use std::collections::BTreeMap;
use std::io::Write;
use std::sync::LazyLock;

/// Stylesheet and scripts as they travel, by name: a third of their size. Fonts are packed as they are.
static PACKED: LazyLock<BTreeMap<&str, Vec<u8>>> = LazyLock::new(|| {
    let texts = ASSETS.iter().filter(|asset| asset.media_type.starts_with("text/"));
    texts.filter_map(|asset| Some((asset.name, packed(asset.bytes).ok()?))).collect()
});

fn packed(bytes: &[u8]) -> std::io::Result<Vec<u8>> {
    let mut packed = GzEncoder::new(Vec::new(), Compression::best());
    packed.write_all(bytes)?;
    packed.finish()
}

/// The service worker. It lies at the root, since it may see to what lies below it only.
pub(crate) async fn keeper(headers: HeaderMap) -> Response {
    serve(Path("keeper.js".to_owned()), headers).await
}

/// Serves one file, packed for a browser that takes it so. Names carry no version, so they are asked for
/// again after a while.
pub(crate) async fn serve(Path(name): Path<String>, asked: HeaderMap) -> Response {
    let Some(asset) = ASSETS.iter().find(|asset| asset.name == name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let headers = [(CONTENT_TYPE, asset.media_type), (CACHE_CONTROL, "private, max-age=300")];
    match PACKED.get(asset.name) {
        Some(packed) if takes_packed(&asked) => {
            let how = [(CONTENT_ENCODING, "gzip"), (VARY, "accept-encoding")];
            (headers, how, packed.as_slice()).into_response()
        }
        Some(_) => (headers, [(VARY, "accept-encoding")], asset.bytes).into_response(),
        None => (headers, asset.bytes).into_response(),
    }
}

/// Whether whoever asks takes a gzip (RFC 9110, section 12.5.3): named, and not with the weight 0.
fn takes_packed(asked: &HeaderMap) -> bool {
    let named = asked.get_all(ACCEPT_ENCODING).iter().filter_map(|value| value.to_str().ok());
    named.flat_map(|list| list.split(',')).any(|one| {
        let (coding, weight) = one.split_once(';').unwrap_or((one, "q=1"));
        let weight = weight.trim().strip_prefix("q=").and_then(|weight| weight.parse::<f64>().ok());
        coding.trim().eq_ignore_ascii_case("gzip") && weight.is_some_and(|weight| weight > 0.0)
    })
}

/// Serves one picture of the guide.
pub(crate) async fn guide_picture(Path(name): Path<String>) -> Response {
    match crate::guide::picture(&name) {
        Some(bytes) => {
            let headers = [(CONTENT_TYPE, "image/png"), (CACHE_CONTROL, "private, max-age=300")];
            (headers, bytes).into_response()
        }
        None => StatusCode::NOT_FOUND.into_response(),
    }
}

/// The living page of the look, in the device's theme or in `?theme=light`, `?theme=dark`.
pub(crate) async fn look(uri: Uri) -> Response {
    let theme = match uri.query() {
        Some("theme=light") => Some("light"),
        Some("theme=dark") => Some("dark"),
        _ => None,
    };
    Html(crate::look::gallery(theme).into_string()).into_response()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;

    #[test]
    fn all_that_a_first_load_brings_is_small() {
        // The page itself comes on top; all in all it stays below 150 kB.
        let later = ["steps.js", "keeper.js", "charts.js", "outside.js", "passkey.js"];
        let travels = |name: &str, bytes: &[u8]| PACKED.get(name).map_or(bytes.len(), Vec::len);
        let first = ASSETS.iter().filter(|asset| !later.contains(&asset.name));
        let weight: usize = first.map(|asset| travels(asset.name, asset.bytes)).sum();
        assert!(weight < 80_000, "{weight} bytes");
    }

    #[tokio::test]
    async fn a_file_travels_packed_to_whoever_takes_it_so() {
        let css = ASSETS.iter().find(|asset| asset.name == "stonewear.css").unwrap();
        for (takes, is_packed) in [
            ("gzip, deflate, br", true),
            ("br;q=1.0, GZIP;q=0.5", true),
            ("gzip;q=0", false),
            ("identity", false),
            ("", false),
        ] {
            let mut asked = HeaderMap::new();
            asked.insert(ACCEPT_ENCODING, takes.parse().unwrap());
            let answer = serve(Path("stonewear.css".to_owned()), asked).await;
            assert_eq!(answer.headers().contains_key(CONTENT_ENCODING), is_packed, "{takes}");
            assert_eq!(answer.headers()[VARY], "accept-encoding");
            let sent = axum::body::to_bytes(answer.into_body(), usize::MAX).await.unwrap();
            let mut read = Vec::new();
            if is_packed {
                flate2::read::GzDecoder::new(&sent[..]).read_to_end(&mut read).unwrap();
            } else {
                read = sent.to_vec();
            }
            assert!(read == css.bytes, "{takes}");
        }
    }
}
