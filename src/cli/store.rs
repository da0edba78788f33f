//! The option that names the store.

use std::path::PathBuf;

use clap::Args;

use crate::recording::{RecordingError, Store};

/// Where patients are kept.
#[derive(Debug, Args)]
pub struct StoreOption {
    /// Folder that holds patients [default: the environment's CARPOTEMPO_STORE, else the
    /// platform's data folder]
    #[arg(long, value_name = "DIR")]
    store: Option<PathBuf>,
}

impl StoreOption {
    /// The store that is meant.
    ///
    /// # Errors
    /// Those of [`Store::resolve`].
    pub fn resolve(&self) -> Result<Store, RecordingError> {
        Store::resolve(self.store.as_deref())
    }
}
