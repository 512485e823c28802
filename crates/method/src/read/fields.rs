//! Taking keys out of a table one by one, and noting what is missing, wrong or left over.

use super::tree::{Node, Tree};
use crate::figure::{Confidence, Figure, Toleranced};
use crate::rules::listed;
use crate::walk::Typed;
use std::collections::BTreeMap;
use std::str::FromStr;

/// A fault and the byte at which it stands.
#[derive(Debug)]
pub(super) struct FaultAt {
    pub(super) at: usize,
    pub(super) what: String,
    pub(super) right: String,
}

/// What was found while reading: the faults, and where every part of the method stands.
#[derive(Debug, Default)]
pub(super) struct Desk {
    pub(super) faults: Vec<FaultAt>,
    places: BTreeMap<String, usize>,
}

impl Desk {
    pub(super) fn fault(&mut self, at: usize, what: impl Into<String>, right: impl Into<String>) {
        self.faults.push(FaultAt { at, what: what.into(), right: right.into() });
    }

    /// Where the path stands in the file, or the nearest part around it.
    pub(super) fn place(&self, path: &str) -> usize {
        let mut path = path;
        loop {
            if let Some(at) = self.places.get(path) {
                return *at;
            }
            match path.rsplit_once('.') {
                Some((around, _)) => path = around,
                None => return 0,
            }
        }
    }

    fn wrong_type(&mut self, node: &Node, path: &str, wanted: &str, example: &str) {
        let what = format!("{path} must be {wanted}, but is {}", node.tree.in_words());
        self.fault(node.at, what, format!("write it like {example}"));
    }

    /// A node as a list.
    fn list(&mut self, node: Node, path: &str, example: &str) -> Option<Vec<Node>> {
        match node.tree {
            Tree::List(nodes) => Some(nodes),
            _ => {
                self.wrong_type(&node, path, "a list", example);
                None
            }
        }
    }

    /// A node as a text.
    pub(super) fn text(&mut self, node: Node, path: &str) -> Option<String> {
        match node.tree {
            Tree::Text(text) => Some(text),
            _ => {
                let key = last_key(path);
                self.wrong_type(&node, path, "a text", &format!("{key} = \"…\""));
                None
            }
        }
    }
}

/// The keys of one table. Every way of taking one out returns `None` when something about it was
/// noted as a fault; a key that may be absent gives `Some(None)` when it is.
pub(super) struct Fields {
    path: String,
    at: usize,
    nodes: BTreeMap<String, Node>,
    asked: Vec<&'static str>,
}

impl Fields {
    /// Opens a node that must be a table; `path` is empty for the file itself.
    pub(super) fn open(desk: &mut Desk, node: Node, path: String) -> Option<Self> {
        desk.places.insert(path.clone(), node.at);
        match node.tree {
            Tree::Table(nodes) => Some(Self { path, at: node.at, nodes, asked: Vec::new() }),
            _ => {
                let key = last_key(&path);
                let example = format!("[{path}], or {key} = {{ … }}");
                desk.wrong_type(&node, &path, "a table", &example);
                None
            }
        }
    }

    /// A short text of this table without taking it out: the name for its path.
    pub(super) fn peek(&self, key: &str) -> Option<&str> {
        match &self.nodes.get(key)?.tree {
            Tree::Text(text) => Some(text),
            _ => None,
        }
    }

    /// Calls this table by a short text of its own in place of its number.
    pub(super) fn numbered_by(self, desk: &mut Desk, key: &str) -> Self {
        let around = self.path.rsplit_once('.').map(|(around, _)| around.to_owned());
        match around.zip(self.peek(key)).map(|(around, name)| format!("{around}.{name}")) {
            Some(path) => self.called(desk, path),
            None => self,
        }
    }

    /// Another path for what follows, once the name of this table is known.
    pub(super) fn called(mut self, desk: &mut Desk, path: String) -> Self {
        desk.places.insert(path.clone(), self.at);
        self.path = path;
        self
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() { key.to_owned() } else { format!("{}.{key}", self.path) }
    }

    fn take(&mut self, key: &'static str) -> Option<Node> {
        self.asked.push(key);
        self.nodes.remove(key)
    }

    fn needed(&mut self, desk: &mut Desk, key: &'static str, example: &str) -> Option<Node> {
        let node = self.take(key);
        if node.is_none() {
            let place = if self.path.is_empty() { "the file" } else { &self.path };
            desk.fault(self.at, format!("{place} has no {key}"), format!("add {example}"));
        }
        node
    }

    pub(super) fn text(&mut self, desk: &mut Desk, key: &'static str) -> Option<String> {
        let node = self.needed(desk, key, &format!("{key} = \"…\""))?;
        desk.places.insert(self.path_of(key), node.at);
        desk.text(node, &self.path_of(key))
    }

    /// A text that is one of a few words; `example` is one of them.
    pub(super) fn word<T>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Option<T>
    where
        T: Copy,
    {
        let names = listed(words.iter().map(|(word, _)| *word));
        let node = self.needed(desk, key, &format!("{key} = \"…\", one of: {names}"))?;
        let at = node.at;
        let text = desk.text(node, &self.path_of(key))?;
        let found = words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value);
        if found.is_none() {
            let what = format!("“{text}” is not known as {key}");
            desk.fault(at, what, format!("write one of: {names}"));
        }
        found
    }

    /// The same; none when the key is absent.
    pub(super) fn maybe_word<T>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
        words: &[(&str, T)],
    ) -> Option<Option<T>>
    where
        T: Copy,
    {
        if self.nodes.contains_key(key) {
            return self.word(desk, key, words).map(Some);
        }
        self.asked.push(key);
        Some(None)
    }

    /// A text that may be absent.
    pub(super) fn maybe_text(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
    ) -> Option<Option<String>> {
        if self.nodes.contains_key(key) {
            return self.text(desk, key).map(Some);
        }
        self.asked.push(key);
        Some(None)
    }

    /// The texts of a list that may be absent.
    pub(super) fn texts(&mut self, desk: &mut Desk, key: &'static str) -> Option<Vec<String>> {
        let Some(node) = self.take(key) else { return Some(Vec::new()) };
        let path = self.path_of(key);
        let nodes = desk.list(node, &path, &format!("{key} = [\"…\", \"…\"]"))?;
        all(nodes.into_iter().map(|node| desk.text(node, &path)))
    }

    /// Every key of this table, whatever it is called, with a text.
    pub(super) fn names(self, desk: &mut Desk) -> Option<BTreeMap<String, String>> {
        let mut found = BTreeMap::new();
        let mut sound = true;
        for (key, node) in self.nodes {
            let path = format!("{}.{key}", self.path);
            match desk.text(node, &path) {
                Some(text) => drop(found.insert(key, text)),
                None => sound = false,
            }
        }
        sound.then_some(found)
    }

    pub(super) fn table<T>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
        read: impl FnOnce(&mut Desk, Self) -> Option<T>,
    ) -> Option<T> {
        let node = self.needed(desk, key, &format!("a table [{}]", self.path_of(key)))?;
        let fields = Self::open(desk, node, self.path_of(key))?;
        read(desk, fields)
    }

    pub(super) fn maybe_table<T>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
        read: impl FnOnce(&mut Desk, Self) -> Option<T>,
    ) -> Option<Option<T>> {
        let Some(node) = self.take(key) else { return Some(None) };
        let fields = Self::open(desk, node, self.path_of(key))?;
        read(desk, fields).map(Some)
    }

    /// A table that must be there only if `needed`.
    pub(super) fn table_if<T>(
        &mut self,
        needed: bool,
        desk: &mut Desk,
        key: &'static str,
        read: impl FnOnce(&mut Desk, Self) -> Option<T>,
    ) -> Option<Option<T>> {
        if needed {
            self.table(desk, key, read).map(Some)
        } else {
            self.maybe_table(desk, key, read)
        }
    }

    /// A value with its tolerance that must be there only if `needed`.
    pub(super) fn toleranced_if(
        &mut self,
        needed: bool,
        desk: &mut Desk,
        key: &'static str,
    ) -> Option<Option<Toleranced>> {
        if needed { self.toleranced(desk, key).map(Some) } else { self.maybe_toleranced(desk, key) }
    }

    /// Tables of which one must be there only if `needed`.
    pub(super) fn tables_if<T>(
        &mut self,
        needed: bool,
        desk: &mut Desk,
        key: &'static str,
        read: impl FnMut(&mut Desk, Self) -> Option<T>,
    ) -> Option<Vec<T>> {
        if needed { self.tables(desk, key, read) } else { self.maybe_tables(desk, key, read) }
    }

    /// Tables in double brackets, or a list of tables.
    pub(super) fn tables<T>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
        read: impl FnMut(&mut Desk, Self) -> Option<T>,
    ) -> Option<Vec<T>> {
        if !self.nodes.contains_key(key) {
            self.needed(desk, key, &format!("at least one of [[{key}]]"))?;
        }
        self.maybe_tables(desk, key, read)
    }

    /// The same; none when the key is absent.
    pub(super) fn maybe_tables<T>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
        mut read: impl FnMut(&mut Desk, Self) -> Option<T>,
    ) -> Option<Vec<T>> {
        let Some(node) = self.take(key) else { return Some(Vec::new()) };
        let path = self.path_of(key);
        desk.places.insert(path.clone(), node.at);
        let nodes = desk.list(node, &path, &format!("[[{key}]]"))?;
        all((1_usize..).zip(nodes).map(|(number, node)| {
            let fields = Self::open(desk, node, format!("{path}.{number}"))?;
            read(desk, fields)
        }))
    }

    pub(super) fn figure<T: Typed>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
    ) -> Option<Figure<T>> {
        let example = format!("{key} = {{ value = …, confidence = \"memory\" }}");
        let node = self.needed(desk, key, &example)?;
        let fields = Self::open(desk, node, self.path_of(key))?;
        figure(desk, fields)
    }

    pub(super) fn maybe_figure<T: Typed>(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
    ) -> Option<Option<Figure<T>>> {
        self.maybe_table(desk, key, figure)
    }

    pub(super) fn toleranced(&mut self, desk: &mut Desk, key: &'static str) -> Option<Toleranced> {
        let example = format!("{key}.nominal = {{ value = …, confidence = \"memory\" }}");
        let node = self.needed(desk, key, &example)?;
        let fields = Self::open(desk, node, self.path_of(key))?;
        toleranced(desk, fields)
    }

    pub(super) fn maybe_toleranced(
        &mut self,
        desk: &mut Desk,
        key: &'static str,
    ) -> Option<Option<Toleranced>> {
        self.maybe_table(desk, key, toleranced)
    }

    /// Notes every key that nobody asked for.
    pub(super) fn close(self, desk: &mut Desk) {
        let place = if self.path.is_empty() { "the file" } else { &self.path };
        for (key, node) in &self.nodes {
            let what = format!("“{key}” is not a key of {place}");
            let right = format!("the keys that can stand here are: {}", listed(&self.asked));
            desk.fault(node.at, what, right);
        }
    }
}

/// Reads a figure from its table.
pub(super) fn figure<T: Typed>(desk: &mut Desk, mut fields: Fields) -> Option<Figure<T>> {
    let value = fields.needed(desk, "value", "value = …").and_then(|node| {
        desk.places.insert(fields.path.clone(), node.at);
        match &node.tree {
            Tree::Text(typed) | Tree::Number(typed) => T::from_typed(typed)
                .map_err(|problem| {
                    let (what, right) =
                        problem.split_once("; ").unwrap_or((&problem, "write it in full"));
                    desk.fault(node.at, format!("{}: {what}", fields.path), right);
                })
                .ok(),
            _ => {
                let path = format!("{}.value", fields.path);
                desk.wrong_type(&node, &path, "a number or a text", "value = 5");
                None
            }
        }
    });
    let confidence =
        fields.needed(desk, "confidence", "confidence = \"memory\"").and_then(|node| {
            let at = node.at;
            let text = desk.text(node, &fields.path_of("confidence"))?;
            Confidence::from_str(&text)
                .map_err(|error| {
                    let message = error.to_string();
                    let (what, right) = message.split_once("; ").unwrap_or((&message, ""));
                    desk.fault(at, format!("{}: {what}", fields.path), right);
                })
                .ok()
        });
    let source = match fields.take("source") {
        Some(node) => desk.text(node, &fields.path_of("source")),
        None => Some(String::new()),
    };
    let note = match fields.take("note") {
        Some(node) => desk.text(node, &fields.path_of("note")).map(Some),
        None => Some(None),
    };
    fields.close(desk);
    Some(Figure { value: value?, confidence: confidence?, source: source?, note: note? })
}

fn toleranced(desk: &mut Desk, mut fields: Fields) -> Option<Toleranced> {
    let nominal = fields.figure(desk, "nominal");
    let tolerance = fields.maybe_figure(desk, "tolerance");
    fields.close(desk);
    Some(Toleranced { nominal: nominal?, tolerance: tolerance? })
}

/// All of them, or `None` when any is missing; each is read either way, so that every fault shows.
fn all<T>(read: impl Iterator<Item = Option<T>>) -> Option<Vec<T>> {
    let every: Vec<Option<T>> = read.collect();
    every.into_iter().collect()
}

fn last_key(path: &str) -> &str {
    path.rsplit_once('.').map_or(path, |(_, key)| key)
}
