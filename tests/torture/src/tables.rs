//! Bytes of property tables with faults, their checksum made to fit: a table that answers at a fixed cost, or error 611.

use densepath::{Fluid, PropertyTable, Quantity};

use crate::Round;
use crate::sealed::sealed;

pub fn rounds() -> Round {
    let fluid = Fluid::new("carbon dioxide");
    let table = fluid.and_then(|fluid| {
        let quantities = [Quantity::Density, Quantity::DynamicViscosity];
        PropertyTable::new(&fluid, &quantities, [310.0, 330.0], [12e6, 30e6], 1e-3)
    });
    let whole = table.map(|table| table.to_bytes()).unwrap_or_default();
    assert!(!whole.is_empty(), "no table could be made");
    let body = whole[..whole.len() - 8].to_vec();
    Box::new(move |tally, chance| {
        let mut bytes = body.clone();
        for _ in 0..=chance.index(6) {
            let front = if chance.share() < 0.7 {
                400
            } else {
                bytes.len()
            };
            let place = chance.index(front.min(bytes.len()));
            bytes[place] = u8::try_from(chance.index(256)).unwrap_or(0);
        }
        if chance.share() < 0.1 {
            bytes.truncate(chance.index(bytes.len()).max(1));
        }
        let what = || format!("bytes {bytes:02x?}");
        let read = tally.call(what, || PropertyTable::from_bytes(&sealed(&bytes)));
        if let Some(table) = read {
            let [temperature, _] = table.temperature();
            let [_, pressure] = table.pressure();
            let answer = tally.call(what, || table.value(0, temperature, pressure));
            tally.holds("a table answers at its corner", answer.is_some(), what);
            let same = table.to_bytes() == sealed(&bytes);
            tally.holds("a table gives its bytes back", same, what);
        }
    })
}
