//! Transport properties: laws on plain numbers, and the same as properties of a state.

pub mod diffusion;
