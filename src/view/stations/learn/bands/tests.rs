//! The view Bands, driven by its accessible labels.
