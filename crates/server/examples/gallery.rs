//! Writes the living page of the look into a folder, once for each theme, with its assets.
//!
//! `cargo run -p stonewear-server --example gallery -- FOLDER`

use std::path::PathBuf;
use std::{env, fs, io};
use stonewear_server::look::{ASSETS, gallery};

fn main() -> io::Result<()> {
    let folder = env::args_os().nth(1).map_or_else(|| PathBuf::from("gallery"), PathBuf::from);
    let assets = folder.join("assets");
    fs::create_dir_all(&assets)?;
    for asset in ASSETS {
        fs::write(assets.join(asset.name), asset.bytes)?;
    }
    for theme in ["light", "dark"] {
        // The page is opened as a file here, so its paths begin beside it.
        let page = gallery(Some(theme)).into_string().replace("=\"/assets/", "=\"assets/");
        fs::write(folder.join(format!("{theme}.html")), page)?;
    }
    Ok(())
}
