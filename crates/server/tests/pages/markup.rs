//! A strict reader of our own markup: every tag closed by its own end, ids once, links that lead
//! somewhere. A browser would mend what is wrong; this does not.

use std::collections::{BTreeMap, BTreeSet};

/// Elements that have no end.
const VOID: [&str; 8] = ["meta", "link", "img", "br", "input", "hr", "col", "wbr"];

/// A start tag.
#[derive(Debug, Clone)]
pub(crate) struct Tag {
    pub(crate) name: String,
    attributes: BTreeMap<String, String>,
    /// How many elements it lies in.
    depth: usize,
}

impl Tag {
    pub(crate) fn attribute(&self, name: &str) -> Option<&str> {
        self.attributes.get(name).map(String::as_str)
    }

    pub(crate) fn has_class(&self, class: &str) -> bool {
        self.attribute("class").is_some_and(|all| all.split(' ').any(|one| one == class))
    }
}

/// Reads a page into its start tags, in their order.
///
/// # Errors
/// The first thing that is not well-formed.
pub(crate) fn read(page: &str) -> Result<Vec<Tag>, String> {
    let mut rest = page.strip_prefix("<!DOCTYPE html>").ok_or("no document type")?;
    let mut open: Vec<String> = Vec::new();
    let mut tags = Vec::new();
    while let Some(at) = rest.find('<') {
        if rest[..at].contains('>') {
            return Err(format!("a bare “>” in {:?}", &rest[..at]));
        }
        rest = &rest[at + 1..];
        if let Some(end) = rest.strip_prefix('/') {
            let (name, after) = end.split_once('>').ok_or("an end tag does not end")?;
            match open.pop() {
                Some(opened) if opened == name => {}
                other => return Err(format!("</{name}> closes {other:?}")),
            }
            rest = after;
            continue;
        }
        let (tag, is_closed, after) = start_tag(rest, open.len())?;
        if !is_closed && !VOID.contains(&tag.name.as_str()) {
            open.push(tag.name.clone());
        }
        tags.push(tag);
        rest = after;
    }
    if open.is_empty() { Ok(tags) } else { Err(format!("never closed: {open:?}")) }
}

fn start_tag(text: &str, depth: usize) -> Result<(Tag, bool, &str), String> {
    let end = text.find([' ', '>', '/']).ok_or("a tag does not end")?;
    let name = &text[..end];
    if name.is_empty() || !name.bytes().all(|byte| byte.is_ascii_alphanumeric()) {
        return Err(format!("“<{name}” is no tag"));
    }
    let mut tag = Tag { name: name.to_owned(), attributes: BTreeMap::new(), depth };
    let mut rest = &text[end..];
    loop {
        rest = rest.trim_start();
        if let Some(after) = rest.strip_prefix('>') {
            return Ok((tag, false, after));
        }
        if let Some(after) = rest.strip_prefix("/>") {
            return Ok((tag, true, after));
        }
        let end = rest.find(['=', ' ', '>']).ok_or("an attribute does not end")?;
        let key = rest[..end].to_owned();
        rest = &rest[end..];
        let value = match rest.strip_prefix("=\"") {
            Some(after) => {
                let (value, after) = after.split_once('"').ok_or("a value does not end")?;
                rest = after;
                plain(value)
            }
            None => String::new(),
        };
        if tag.attributes.insert(key.clone(), value).is_some() {
            return Err(format!("<{name}> has {key} twice"));
        }
    }
}

/// A text without its escapes.
pub(crate) fn plain(text: &str) -> String {
    text.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&amp;", "&")
}

/// Everything that must hold for any page, as a list of faults.
pub(crate) fn faults(page: &str) -> Vec<String> {
    let tags = match read(page) {
        Ok(tags) => tags,
        Err(fault) => return vec![fault],
    };
    let mut faults = Vec::new();
    let mut ids = BTreeSet::new();
    for id in tags.iter().filter_map(|tag| tag.attribute("id")) {
        if !ids.insert(id) {
            faults.push(format!("the id {id} is there twice"));
        }
    }
    let headings = tags.iter().filter(|tag| tag.name == "h1").count();
    if headings != 1 {
        faults.push(format!("{headings} main headings"));
    }
    for tag in &tags {
        for key in ["aria-describedby", "aria-labelledby", "for", "list", "data-judge-slot"] {
            for id in tag.attribute(key).into_iter().flat_map(|all| all.split(' ')) {
                if !ids.contains(id) {
                    faults.push(format!("{key} names {id}, which is not there"));
                }
            }
        }
        if let Some(id) = tag.attribute("href").and_then(|href| href.strip_prefix('#'))
            && !ids.contains(id)
        {
            faults.push(format!("a link leads to #{id}, which is not there"));
        }
        if tag.attributes.keys().any(|key| key.starts_with("on") || key == "style") {
            faults.push(format!("<{}> carries script or style of its own", tag.name));
        }
    }
    faults
}

/// Where the links of a page lead to within the site, without the part of the page.
pub(crate) fn links(page: &str) -> BTreeSet<String> {
    let tags = read(page).unwrap();
    tags.iter()
        .filter_map(|tag| tag.attribute(if tag.name == "img" { "src" } else { "href" }))
        .filter(|href| href.starts_with('/'))
        .map(|href| href.split('#').next().unwrap_or_default().to_owned())
        .collect()
}

/// A form with the fields that it would send as it stands.
#[derive(Debug, Clone)]
pub(crate) struct Form {
    /// Its hidden fields, which its reader cannot change.
    pub(crate) hidden: Vec<(String, String)>,
    /// The names of the fields that are typed or chosen.
    pub(crate) asked: Vec<String>,
}

impl Form {
    pub(crate) fn request(&self) -> &str {
        self.hidden.iter().find(|(name, _)| name == "request").map_or("", |(_, value)| value)
    }
}

/// The forms of a page that make a request.
pub(crate) fn forms(page: &str) -> Vec<Form> {
    let tags = read(page).unwrap();
    let mut forms = Vec::new();
    for (at, form) in tags.iter().enumerate().filter(|(_, tag)| tag.name == "form") {
        let inside = tags[at + 1..].iter().take_while(|tag| tag.depth > form.depth);
        let mut read = Form { hidden: Vec::new(), asked: Vec::new() };
        for tag in inside.filter(|tag| ["input", "select", "textarea"].contains(&&*tag.name)) {
            let Some(name) = tag.attribute("name") else { continue };
            if tag.attribute("type") == Some("hidden") {
                let value = tag.attribute("value").unwrap_or_default();
                read.hidden.push((name.to_owned(), value.to_owned()));
            } else if tag.attribute("type") != Some("checkbox") {
                read.asked.push(name.to_owned());
            }
        }
        if !read.request().is_empty() {
            forms.push(read);
        }
    }
    forms
}
