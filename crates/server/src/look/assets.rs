//! The files that every page needs, built into the program.

/// A file as it is served under `/assets/`.
#[derive(Debug, Clone, Copy)]
pub struct Asset {
    /// Its name; one path segment.
    pub name: &'static str,
    /// Its media type.
    pub media_type: &'static str,
    /// What is in it.
    pub bytes: &'static [u8],
}

/// All of them. The stylesheet names the fonts relative to itself.
pub const ASSETS: [Asset; 14] = [
    Asset {
        name: "stonewear.css",
        media_type: "text/css; charset=utf-8",
        bytes: include_bytes!("../../assets/stonewear.css"),
    },
    Asset {
        name: "bench.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/bench.js"),
    },
    Asset {
        name: "live.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/live.js"),
    },
    Asset {
        name: "keys.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/keys.js"),
    },
    Asset {
        name: "steps.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/steps.js"),
    },
    Asset {
        name: "waiting.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/waiting.js"),
    },
    Asset {
        name: "palette.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/palette.js"),
    },
    Asset {
        name: "keeper.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/keeper.js"),
    },
    Asset {
        name: "outside.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/outside.js"),
    },
    Asset {
        name: "charts.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/charts.js"),
    },
    Asset {
        name: "passkey.js",
        media_type: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../../assets/passkey.js"),
    },
    Asset {
        name: "icon.svg",
        media_type: "image/svg+xml",
        bytes: include_bytes!("../../assets/icon.svg"),
    },
    Asset {
        name: "ibm-plex-sans-400.woff2",
        media_type: "font/woff2",
        bytes: include_bytes!("../../assets/fonts/ibm-plex-sans-400.woff2"),
    },
    Asset {
        name: "ibm-plex-sans-600.woff2",
        media_type: "font/woff2",
        bytes: include_bytes!("../../assets/fonts/ibm-plex-sans-600.woff2"),
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fonts_that_the_stylesheet_names_are_there() {
        let css = include_str!("../../assets/stonewear.css");
        let named: Vec<&str> =
            css.split("url(\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert_eq!(named.len(), 2);
        assert!(named.iter().all(|name| ASSETS.iter().any(|asset| asset.name == *name)));
    }
}
