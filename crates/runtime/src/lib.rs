//! One laboratory opened for work: its journal, its state in memory, its clock.
