//! The method document: TOML whose values carry units, read strictly.

pub mod measure;
pub mod reader;
