//! Results for people and programs: text tables in the units of the laboratory, JSON in SI. Nothing is computed here.

mod json;
mod table;
mod text;

pub use json::{STATION_QUANTITIES, to_json};
pub use text::{laboratory, to_text};
