//! What pages are put together from: the look of [`crate::look`], bound to the laboratory, to what
//! was typed and to what is wrong with it.

mod choices;
mod field;
mod filter;
mod form;
mod pieces;
mod saved;
mod shell;

pub(crate) use choices::*;
pub(crate) use field::{Field, difference_verdict, strip_of, verdict};
pub(crate) use filter::{Part, filters, has_words, is_of, leaf, nothing_of_it};
pub(crate) use form::{
    Form, instead_of_the_phrase, key, problem_alone, problem_of, refusal, words,
};
pub(crate) use pieces::*;
pub(crate) use shell::{outside, shell};
