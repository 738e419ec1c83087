//! The page that phones answer on: its address, its code, its server.

pub mod address;
mod connections;
mod server;

pub use connections::Limits;
pub use server::{PollServer, ServeError};

use self::address::{chosen, found_addresses, leading_out, page_at, reachable};
use crate::lecture::JoinCode;
use crate::play::lecture::{Line, code_of};
use std::net::IpAddr;

/// Serves the page for phones, and says how they reach it; where that cannot be done, hands are shown.
#[must_use]
pub fn serve(port: u16, wanted: Option<IpAddr>, seed: u64) -> Line {
    let reached = reachable(&found_addresses(), leading_out());
    match PollServer::start(port, JoinCode::of_seed(seed), &reached, Limits::default()) {
        Ok(server) => {
            let (first, others) = chosen(wanted, &reached);
            let address = page_at(first, server.port());
            let others = others.into_iter().map(|ip| page_at(ip, server.port())).collect();
            let code = code_of(&format!("{address}?code={}", server.code()));
            Line::Served {
                server: Box::new(server),
                address,
                others,
                code,
                is_alone: first.is_loopback(),
            }
        }
        Err(error) => {
            let text = error.to_string();
            let mut letters = text.chars();
            let first = letters.next().map(|c| c.to_uppercase().to_string());
            Line::Hands(first.unwrap_or_default() + letters.as_str())
        }
    }
}
