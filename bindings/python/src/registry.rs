//! Fluids by the hash of all that their numbers depend on, so that a number in an array can name a fluid in any process.

use std::collections::HashMap;
use std::hash::Hasher;
use std::sync::{LazyLock, PoisonError, RwLock};

use densepath::{Error, Fluid, Result, substances};
use siphasher::sip::SipHasher13;

/// Every fluid whose identity has been told; entries are added and never changed.
static KNOWN: LazyLock<RwLock<HashMap<i64, Fluid>>> = LazyLock::new(RwLock::default);

/// Hash of everything that the numbers of a fluid depend on, its composition included: the same in every process that has the
/// same data, and another one as soon as a coefficient differs.
pub fn identity_of(fluid: &Fluid) -> i64 {
    let mut hasher = SipHasher13::new();
    hasher.write(fluid.fingerprint().as_bytes());
    i64::from_ne_bytes(hasher.finish().to_ne_bytes())
}

/// Makes a fluid one that its identity finds from now on.
pub fn keep(identity: i64, fluid: &Fluid) {
    if known(identity).is_none() {
        let mut all = KNOWN.write().unwrap_or_else(PoisonError::into_inner);
        all.entry(identity).or_insert_with(|| fluid.clone());
    }
}

fn known(identity: i64) -> Option<Fluid> {
    let all = KNOWN.read().unwrap_or_else(PoisonError::into_inner);
    all.get(&identity).cloned()
}

/// The fluid with this identity; error 201 if this process does not know it.
///
/// Every substance is known everywhere; a mixture, another model and a fluid that extrapolates are known where they were made.
pub fn find(identity: i64) -> Result<Fluid> {
    if let Some(fluid) = known(identity) {
        return Ok(fluid);
    }
    for fluid in substances()? {
        keep(identity_of(fluid), fluid);
    }
    known(identity).ok_or_else(|| Error::UnknownFluid {
        name: format!("identity {identity}"),
        nearest: None,
    })
}
