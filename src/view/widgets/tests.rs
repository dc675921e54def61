//! The widgets driven headless, by their accessible names, as a person without a mouse would.
