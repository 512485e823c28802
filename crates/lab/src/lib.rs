//! The pure laboratory: facts, the state they fold into, and the decisions that make new facts.
