//! A TOML file as a small tree whose every node knows where it stands and how it was written.

use super::fields::FaultAt;
use std::collections::BTreeMap;
use toml_edit::{Document, Item, TableLike, Value};

/// A node and the byte at which it starts.
#[derive(Debug)]
pub(super) struct Node {
    pub(super) at: usize,
    pub(super) tree: Tree,
}

/// What a node is.
#[derive(Debug)]
pub(super) enum Tree {
    /// A table, written in any of the ways that the format has.
    Table(BTreeMap<String, Node>),
    /// An array, or tables in double brackets.
    List(Vec<Node>),
    /// A text, without its quotation marks.
    Text(String),
    /// A number, as it is written.
    Number(String),
    /// Anything else, by name.
    Other(&'static str),
}

impl Tree {
    /// What it is, in words.
    pub(super) fn in_words(&self) -> &'static str {
        match self {
            Self::Table(_) => "a table",
            Self::List(_) => "a list",
            Self::Text(_) => "a text",
            Self::Number(_) => "a number",
            Self::Other(name) => name,
        }
    }
}

/// Parses the text of a file.
pub(super) fn parse(text: &str) -> Result<Node, FaultAt> {
    let document = Document::parse(text).map_err(|error| {
        let message = one_line(error.message());
        let right = if message.contains("duplicate") {
            "each key stands once in its table, and each table once in the file"
        } else {
            "write key = value, texts in quotation marks, and close every bracket"
        };
        FaultAt {
            at: error.span().map_or(0, |span| span.start),
            what: format!("the file cannot be read as TOML: {message}"),
            right: right.to_owned(),
        }
    })?;
    Ok(Node { at: 0, tree: table(text, document.as_table(), 0) })
}

fn one_line(message: &str) -> String {
    message.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn table(text: &str, table: &dyn TableLike, at: usize) -> Tree {
    let mut nodes = BTreeMap::new();
    for (key, item) in table.iter() {
        let key_at = table.key(key).and_then(toml_edit::Key::span).map_or(at, |span| span.start);
        nodes.insert(key.to_owned(), node(text, item, key_at));
    }
    Tree::Table(nodes)
}

/// A table starts at its header, a value where it is written; `key_at` where neither is known.
fn node(text: &str, item: &Item, key_at: usize) -> Node {
    let at = item.span().map_or(key_at, |span| span.start);
    let tree = match item {
        Item::None => Tree::Other("nothing"),
        Item::Value(value) => return self::value(text, value, key_at),
        Item::Table(inner) => table(text, inner, at),
        Item::ArrayOfTables(tables) => Tree::List(
            tables
                .iter()
                .map(|inner| {
                    let at = inner.span().map_or(at, |span| span.start);
                    Node { at, tree: table(text, inner, at) }
                })
                .collect(),
        ),
    };
    Node { at, tree }
}

fn value(text: &str, value: &Value, key_at: usize) -> Node {
    let span = value.span().unwrap_or(key_at..key_at);
    let at = span.start;
    let tree = match value {
        Value::String(string) => Tree::Text(string.value().clone()),
        // The digits as they stand in the file: a parsed float could be another number.
        Value::Integer(_) | Value::Float(_) => {
            Tree::Number(text.get(span).unwrap_or_default().to_owned())
        }
        Value::Boolean(_) => Tree::Other("true or false"),
        Value::Datetime(_) => Tree::Other("a date"),
        Value::Array(array) => {
            Tree::List(array.iter().map(|inner| self::value(text, inner, at)).collect())
        }
        Value::InlineTable(inner) => table(text, inner, at),
    };
    Node { at, tree }
}
