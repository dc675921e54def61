//! The prompted learning session as a state machine: readings in, prompts and results out. Time is an
//! argument.
