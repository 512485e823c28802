//! A model as an expression in the language of the `exmex` library.
//!
//! Numbers (also `1.2e-3`), names of inputs, `+ - * / ^`, parentheses, `PI`, and the functions
//! `sqrt exp ln log10 sin cos tan asin acos atan abs`. The functions are those of `libm`, so the same
//! model gives the same bits on every machine.
//!
//! In that language a minus sign binds tighter than a power, `-2^2` is 4, where a laboratory reads
//! -4. Rather than pick one, such an expression is refused and the two unambiguous forms are named.

use exmex::{
    BinOp, Express, FlatEx, MakeOperators, MatchLiteral, Operator, literal_matcher_from_pattern,
};

use super::Model;
use super::column::Column;
use crate::error::StatsError;

literal_matcher_from_pattern!(NumberMatcher, r"^([0-9]+\.?[0-9]*|\.[0-9]+)([eE][+-]?[0-9]+)?");

/// The operators. Those of one kind have one priority and none is marked as commutative, so
/// operations are done from left to right as they are written, and rounding with them.
#[derive(Debug, Clone)]
struct Operators;

impl MakeOperators<Column> for Operators {
    fn make<'a>() -> Vec<Operator<'a, Column>> {
        let two = |prio, apply: fn(Column, Column) -> Column| BinOp {
            apply,
            prio,
            is_commutative: false,
        };
        vec![
            Operator::make_bin("^", two(3, |a, b| a.with(b, libm::pow))),
            Operator::make_bin("*", two(2, |a, b| a.with(b, |a, b| a * b))),
            Operator::make_bin("/", two(2, |a, b| a.with(b, |a, b| a / b))),
            Operator::make_bin_unary("+", two(1, |a, b| a.with(b, |a, b| a + b)), |a| a),
            Operator::make_bin_unary("-", two(1, |a, b| a.with(b, |a, b| a - b)), |a| {
                a.map(|a| -a)
            }),
            Operator::make_unary("sqrt", |a| a.map(libm::sqrt)),
            Operator::make_unary("exp", |a| a.map(libm::exp)),
            Operator::make_unary("ln", |a| a.map(libm::log)),
            Operator::make_unary("log10", |a| a.map(libm::log10)),
            Operator::make_unary("sin", |a| a.map(libm::sin)),
            Operator::make_unary("cos", |a| a.map(libm::cos)),
            Operator::make_unary("tan", |a| a.map(libm::tan)),
            Operator::make_unary("asin", |a| a.map(libm::asin)),
            Operator::make_unary("acos", |a| a.map(libm::acos)),
            Operator::make_unary("atan", |a| a.map(libm::atan)),
            Operator::make_unary("abs", |a| a.map(libm::fabs)),
            Operator::make_constant("PI", Column::Same(std::f64::consts::PI)),
        ]
    }
}

/// A model read from text.
#[derive(Debug, Clone)]
pub struct Expression {
    tree: FlatEx<Column, Operators, NumberMatcher>,
    /// For each variable of the tree, which input it is.
    places: Vec<usize>,
}

impl Expression {
    /// Reads an expression whose variables are among the names of the inputs, in their order.
    ///
    /// # Errors
    /// When the text is no expression, uses a name that is no input, or is ambiguous.
    pub fn new(text: &str, names: &[&str]) -> Result<Self, StatsError> {
        refuse_ambiguous_minus(text)?;
        let tree = FlatEx::parse(text).map_err(|e| StatsError::Expression(e.to_string()))?;
        let places = tree
            .var_names()
            .iter()
            .map(|variable| {
                names.iter().position(|name| name == variable).ok_or_else(|| {
                    StatsError::Expression(format!(
                        "{variable} is not an input; the inputs are {}",
                        names.join(", ")
                    ))
                })
            })
            .collect::<Result<Vec<usize>, StatsError>>()?;
        Ok(Self { tree, places })
    }
}

impl Model for Expression {
    fn evaluate(&self, inputs: &[&[f64]], out: &mut [f64]) {
        let variables: Option<Vec<Column>> = self
            .places
            .iter()
            .map(|&place| inputs.get(place).map(|column| Column::Each(column.to_vec())))
            .collect();
        match variables.map(|v| self.tree.eval(&v)) {
            Some(Ok(Column::Each(values))) => out.copy_from_slice(&values),
            Some(Ok(Column::Same(value))) => out.fill(value),
            _ => out.fill(f64::NAN),
        }
    }
}

/// Finds a sign in front of an operand that is raised to a power.
fn refuse_ambiguous_minus(text: &str) -> Result<(), StatsError> {
    let signs: Vec<char> = text.chars().filter(|c| !c.is_whitespace()).collect();
    for (i, &sign) in signs.iter().enumerate() {
        let leads = i == 0 || "(,+-*/^".contains(signs[i - 1]);
        let exponent = i >= 2 && "eE".contains(signs[i - 1]) && signs[i - 2].is_ascii_digit();
        if sign != '-' || !leads || exponent {
            continue;
        }
        let end = end_of_operand(&signs, i + 1);
        if signs.get(end) == Some(&'^') {
            let operand: String = signs[i + 1..end].iter().collect();
            return Err(StatsError::Expression(format!(
                "-{operand}^… can be read in two ways; write -({operand}^…) or (-{operand})^…"
            )));
        }
    }
    Ok(())
}

/// Where the operand that begins at `start` ends: a name or number, with what is in parentheses
/// behind it.
fn end_of_operand(signs: &[char], start: usize) -> usize {
    let mut end = start;
    while end < signs.len() && (signs[end].is_alphanumeric() || "_.".contains(signs[end])) {
        end += 1;
    }
    let mut depth = 0;
    while end < signs.len() {
        match signs[end] {
            '(' => depth += 1,
            ')' if depth > 0 => depth -= 1,
            _ if depth == 0 => break,
            _ => {}
        }
        end += 1;
    }
    end
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::uncertainty::model::at;

    fn value(text: &str, inputs: &[(&str, f64)]) -> Result<f64, String> {
        let names: Vec<&str> = inputs.iter().map(|(n, _)| *n).collect();
        let values: Vec<f64> = inputs.iter().map(|(_, v)| *v).collect();
        let model = Expression::new(text, &names).map_err(|e| e.to_string())?;
        Ok(at(&model, &values))
    }

    #[test]
    fn reads_what_a_laboratory_writes() {
        let before_after = [("before", 500.0), ("after", 441.5)];
        assert_eq!(value("100 * (before - after) / before", &before_after), Ok(11.7));
        assert_eq!(value("(before - after) / 5", &before_after), Ok(11.7));
        assert_eq!(value("1.5e-3 * 2E3 - .5", &[]), Ok(2.5));
        assert_eq!(value("10 - 3 - 2", &[]), Ok(5.0));
        assert_eq!(value("24 / 4 / 2 * 3", &[]), Ok(9.0));
        assert_eq!(value("2 * 3 / 4", &[]), Ok(1.5));
        assert_eq!(value("2 - 3 + 4", &[]), Ok(3.0));
        assert_eq!(value("sqrt(a^2 + 3^2)", &[("a", 4.0)]), Ok(5.0));
        assert_eq!(value("-a + -(2^2)", &[("a", 1.0)]), Ok(-5.0));
        assert_eq!(value("cos(PI)", &[]), Ok(-1.0));
    }

    #[test]
    fn says_what_it_cannot_read() {
        assert_eq!(
            value("-a^2", &[("a", 3.0)]),
            Err("the model cannot be read: -a^… can be read in two ways; \
                 write -(a^…) or (-a)^…"
                .to_string())
        );
        assert!(value("2 * -(a+1)^2", &[("a", 3.0)]).is_err());
        assert_eq!(
            value("mass / 2", &[("a", 3.0), ("b", 1.0)]),
            Err("the model cannot be read: mass is not an input; the inputs are a, b".to_string())
        );
        assert!(value("2 +", &[]).is_err());
        assert!(value("(2", &[]).is_err());
        assert!(value("", &[]).is_err());
    }
}
