//! The model, the actions that change it and the effects they ask for.
