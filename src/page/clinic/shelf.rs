//! What prints or is taken along, until it is fetched. The oldest goes when there is no more room.

use std::collections::VecDeque;
use std::sync::{Mutex, PoisonError};

use axum::http::header;
use axum::response::{IntoResponse, Response};

/// Things on the shelf at a time.
const MOST: usize = 8;

/// A thing on the shelf.
#[derive(Debug, Clone)]
pub enum Laid {
    /// A page that prints.
    Sheet(String),
    /// A file to be saved under that name.
    File {
        /// Its name.
        name: String,
        /// What is in it.
        text: String,
    },
}

/// The shelf.
#[derive(Debug, Default)]
pub struct Shelf(Mutex<(u64, VecDeque<(String, Laid)>)>);

impl Shelf {
    /// Lays a thing there; the address it can be fetched from.
    pub fn lay(&self, thing: Laid) -> String {
        let mut shelf = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        shelf.0 += 1;
        let name = match &thing {
            Laid::Sheet(_) => "handout.html",
            Laid::File { name, .. } => name,
        };
        let address = format!("/shelf/{}/{name}", shelf.0);
        shelf.1.push_back((address.clone(), thing));
        while shelf.1.len() > MOST {
            shelf.1.pop_front();
        }
        address
    }

    /// What lies at that address.
    pub fn at(&self, address: &str) -> Option<Laid> {
        let shelf = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let (_, thing) = shelf.1.iter().find(|(own, _)| own == address)?;
        Some(thing.clone())
    }
}

impl Laid {
    /// As an answer.
    pub fn into_response(self) -> Response {
        match self {
            Laid::Sheet(page) => super::sheet(page),
            Laid::File { name, text } => (
                [
                    (header::CONTENT_TYPE, "application/toml".to_owned()),
                    (
                        header::CONTENT_DISPOSITION,
                        format!("attachment; filename=\"{name}\""),
                    ),
                ],
                text,
            )
                .into_response(),
        }
    }
}
