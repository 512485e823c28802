//! How the page can be reached, and what follows from it: which names it answers to, where its forms
//! come from, whether its cookies are for encrypted lines only, and where a request comes from.

use axum::http::HeaderMap;
use axum::http::header::HeaderName;
use std::net::{IpAddr, SocketAddr};
use stonewear_access::Site;
use stonewear_access::limits::counted;

/// How the page can be reached.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum Reach {
    /// From this machine only, unencrypted.
    #[default]
    Loopback,
    /// From other machines, encrypted by this program. A name that was made to point here has no
    /// certificate that a browser takes, so every name is answered to.
    Tls,
    /// From other machines, through a proxy that encrypts and that people reach at this origin:
    /// `https://stonewear.example.org`.
    Proxy(String),
}

impl Reach {
    /// Through a proxy, at the address that people type.
    ///
    /// # Errors
    /// In words: what is wrong, and what would be right.
    pub fn through_proxy(address: &str) -> Result<Self, String> {
        let origin = address.trim().trim_end_matches('/').to_ascii_lowercase();
        let host = origin.strip_prefix("https://").unwrap_or_default();
        let is_good = !host.is_empty()
            && host.bytes().all(|b| b.is_ascii_alphanumeric() || b"-.:[]".contains(&b));
        if is_good {
            return Ok(Self::Proxy(origin));
        }
        Err(format!(
            "“{address}” is not the address that people open; write it like https://stonewear.example.org"
        ))
    }

    /// Whether the line to the browser is encrypted.
    pub(crate) fn is_secure(&self) -> bool {
        *self != Self::Loopback
    }

    /// Why a request for this host is not looked at.
    pub(crate) fn refuses_host(&self, host: &str) -> Option<&'static str> {
        match self {
            Self::Loopback => (!Self::is_loopback(host)).then_some(
                "this page is served to this machine only; open it by 127.0.0.1 or localhost",
            ),
            Self::Tls => host.is_empty().then_some("the request names no host"),
            Self::Proxy(origin) => (self.origin(host) != *origin).then_some(
                "this page is served under another name; the proxy must hand the Host on",
            ),
        }
    }

    /// Where our own forms come from.
    pub(crate) fn origin(&self, host: &str) -> String {
        let scheme = if self.is_secure() { "https" } else { "http" };
        format!("{scheme}://{}", host.to_ascii_lowercase())
    }

    /// The page as passkeys see it; none where it was opened by an address: they are made for names
    /// (WebAuthn, 5.1.2), and a browser makes none for `127.0.0.1`.
    pub(crate) fn site(&self, host: &str) -> Option<Site> {
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) => name,
            _ => host,
        };
        let name = name.to_ascii_lowercase();
        let last = name.rsplit('.').next().unwrap_or_default();
        let is_name = !last.is_empty()
            && !last.bytes().all(|byte| byte.is_ascii_digit())
            && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || b"-.".contains(&byte));
        is_name.then(|| Site { origin: self.origin(host), name })
    }

    /// Whether a host names this machine as itself sees it.
    pub(crate) fn is_loopback(host: &str) -> bool {
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|byte| byte.is_ascii_digit()) => name,
            _ => host,
        };
        matches!(name, "127.0.0.1" | "localhost" | "[::1]")
    }

    /// Where a request comes from, as limits count it. Behind a proxy it is what the proxy added last;
    /// whatever stands before came from outside and can say anything.
    pub(crate) fn address(&self, headers: &HeaderMap, peer: Option<Peer>) -> String {
        const FORWARDED: HeaderName = HeaderName::from_static("x-forwarded-for");
        let forwarded = || {
            let last = headers.get_all(FORWARDED).iter().next_back()?.to_str().ok()?;
            last.rsplit(',').next()?.trim().parse::<IpAddr>().ok()
        };
        let peer = peer.map(|Peer(address)| address.ip());
        let from = if matches!(self, Self::Proxy(_)) { forwarded().or(peer) } else { peer };
        from.map(counted).unwrap_or_default()
    }
}

/// Who is at the other end of the line.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Peer(pub(crate) SocketAddr);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_proxy_is_named_by_what_people_type() {
        for (typed, origin) in [
            ("https://lab.example.org", Some("https://lab.example.org")),
            (" https://Lab.example.org:8443/ ", Some("https://lab.example.org:8443")),
            ("https://[2001:db8::1]", Some("https://[2001:db8::1]")),
            ("http://lab.example.org", None),
            ("lab.example.org", None),
            ("https://", None),
            ("https://lab.example.org/page", None),
            ("https://user@lab.example.org", None),
        ] {
            let reach = Reach::through_proxy(typed).ok();
            assert_eq!(reach, origin.map(|origin| Reach::Proxy(origin.to_owned())), "{typed}");
        }
    }

    #[test]
    fn each_way_answers_to_its_own_names() {
        let proxy = Reach::Proxy("https://lab.example.org".to_owned());
        for (reach, host, is_answered) in [
            (&Reach::Loopback, "127.0.0.1:7640", true),
            (&Reach::Loopback, "lab.example.org", false),
            (&Reach::Tls, "192.168.0.7:7640", true),
            (&Reach::Tls, "", false),
            (&proxy, "lab.example.org", true),
            (&proxy, "LAB.example.org", true),
            (&proxy, "127.0.0.1:7640", false),
            (&proxy, "lab.example.org:80", false),
        ] {
            assert_eq!(reach.refuses_host(host).is_none(), is_answered, "{reach:?} {host}");
        }
    }

    #[test]
    fn passkeys_are_made_for_names() {
        for (reach, host, origin, name) in [
            (&Reach::Loopback, "localhost:7640", "http://localhost:7640", "localhost"),
            (&Reach::Tls, "Lab-PC.local:7640", "https://lab-pc.local:7640", "lab-pc.local"),
            (&Reach::Tls, "lab.example.org", "https://lab.example.org", "lab.example.org"),
        ] {
            let site = Site { origin: origin.to_owned(), name: name.to_owned() };
            assert_eq!(reach.site(host), Some(site));
        }
        for host in ["127.0.0.1:7640", "192.168.0.7", "[::1]:7640", "[::1]", "", "a b", "lab."] {
            assert_eq!(Reach::Tls.site(host), None, "{host}");
        }
    }

    #[test]
    fn only_what_the_proxy_itself_added_is_believed() {
        let peer = Some(Peer("10.0.0.1:5000".parse().unwrap()));
        let mut headers = HeaderMap::new();
        headers.insert("x-forwarded-for", "6.6.6.6, 192.0.2.9".parse().unwrap());
        let proxy = Reach::Proxy("https://lab.example.org".to_owned());
        assert_eq!(proxy.address(&headers, peer), "192.0.2.9");
        assert_eq!(Reach::Tls.address(&headers, peer), "10.0.0.1", "anybody can send the header");
        headers.append("x-forwarded-for", "192.0.2.10".parse().unwrap());
        assert_eq!(proxy.address(&headers, peer), "192.0.2.10");
        assert_eq!(proxy.address(&HeaderMap::new(), peer), "10.0.0.1");
        assert_eq!(Reach::Loopback.address(&headers, None), "");
    }
}
