//! The pairs that were fitted here.

/// Substances with which carbon dioxide mixes in all proportions as a liquid from 250 K on, whose pairs were fitted here: one phase
/// above the pressures where vapour exists.
pub const FITTED: [&str; 9] = [
    "methanol",
    "ethanol",
    "propan-2-ol",
    "acetone",
    "tetrahydrofuran",
    "toluene",
    "propane",
    "n-hexane",
    "n-heptane",
];
