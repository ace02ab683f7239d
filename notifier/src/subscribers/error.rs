//! Why nothing can be done for subscribers at all.

use crate::deliveries::DeliveryError;
use crate::service::tables::TablesError;

/// What stops the work for subscribers.
#[derive(Debug, thiserror::Error)]
pub enum SubscribersError {
    /// The tables or the key cannot be used.
    #[error(transparent)]
    Deliveries(#[from] DeliveryError),
    /// What a row holds was not written by this version.
    #[error("the tables hold choices that this version does not know: {0}")]
    Unknown(String),
    /// A template does not hold: a fault of the program.
    #[error("a page cannot be rendered: {0}")]
    Page(#[from] minijinja::Error),
    /// The settings cannot be read.
    #[error("{0}")]
    Settings(String),
    /// The system does not do what it should.
    #[error(transparent)]
    System(#[from] std::io::Error),
}

impl From<rusqlite::Error> for SubscribersError {
    fn from(error: rusqlite::Error) -> Self {
        SubscribersError::Deliveries(error.into())
    }
}

impl From<TablesError> for SubscribersError {
    fn from(error: TablesError) -> Self {
        SubscribersError::Deliveries(error.into())
    }
}
