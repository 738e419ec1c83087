//! The addresses at which phones in the room's network find this machine.
//!
//! They are those of its interfaces, so that a network that leads nowhere else, as a router set up
//! for the lecture has it, is found too. Private IPv4 comes first: it is what a room's network
//! gives out, and short to type. Of equals, the one that leads out of this machine.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use thiserror::Error;

/// An address that was asked for is not one of this computer.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("{wanted} is not an address of this computer that phones could open; it has {}", listed(.found))]
pub struct NotHere {
    wanted: IpAddr,
    found: Vec<IpAddr>,
}

fn listed(found: &[IpAddr]) -> String {
    if found.is_empty() {
        return "none".to_owned();
    }
    found.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

/// Every address of the interfaces that are up, in no order; none where the system does not say.
#[must_use]
pub fn found_addresses() -> Vec<IpAddr> {
    let found = if_addrs::get_if_addrs().unwrap_or_default();
    found.iter().filter(|interface| interface.is_oper_up()).map(if_addrs::Interface::ip).collect()
}

/// The address of the interface that leads out of this machine, if one does. Nothing is sent:
/// connecting a datagram socket only picks the interface.
#[must_use]
pub fn leading_out() -> Option<IpAddr> {
    // TEST-NET-3 of RFC 5737: an address that belongs to nobody.
    let nobody = SocketAddr::from((Ipv4Addr::new(203, 0, 113, 1), 9));
    let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0)).ok()?;
    socket.connect(nobody).ok()?;
    socket.local_addr().ok().map(|address| address.ip())
}

/// The addresses among `found` that phones can open, the best first.
#[must_use]
pub fn reachable(found: &[IpAddr], leads_out: Option<IpAddr>) -> Vec<IpAddr> {
    let mut ranked: Vec<(u8, bool, IpAddr)> =
        found.iter().filter_map(|ip| Some((rank(*ip)?, Some(*ip) != leads_out, *ip))).collect();
    ranked.sort_unstable();
    ranked.dedup();
    ranked.into_iter().map(|(_, _, ip)| ip).collect()
}

/// Lower is better; `None` where no phone comes.
fn rank(ip: IpAddr) -> Option<u8> {
    if ip.is_loopback() || ip.is_unspecified() || ip.is_multicast() {
        return None;
    }
    match ip {
        IpAddr::V4(ip) if ip.is_private() => Some(0),
        // RFC 3927: what interfaces give themselves where nobody gives addresses out.
        IpAddr::V4(ip) if ip.is_link_local() => Some(2),
        IpAddr::V4(_) => Some(1),
        // A browser takes no address that holds on one link only.
        IpAddr::V6(ip) if ip.is_unicast_link_local() => None,
        IpAddr::V6(_) => Some(3),
    }
}

/// Checks an address that was asked for against those that were found. Loopback is allowed: for a
/// try without a room.
///
/// # Errors
/// [`NotHere`].
pub fn checked(wanted: IpAddr, found: &[IpAddr]) -> Result<IpAddr, NotHere> {
    let reached = reachable(found, None);
    if reached.contains(&wanted) || (wanted.is_loopback() && found.contains(&wanted)) {
        Ok(wanted)
    } else {
        Err(NotHere { wanted, found: reached })
    }
}

/// The address first shown, and the others: what was asked for, else the best, else this computer
/// alone.
#[must_use]
pub fn chosen(wanted: Option<IpAddr>, reached: &[IpAddr]) -> (IpAddr, Vec<IpAddr>) {
    let first = wanted.or_else(|| reached.first().copied());
    let first = first.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
    (first, reached.iter().copied().filter(|ip| *ip != first).collect())
}

/// An address as a browser takes it.
#[must_use]
pub fn page_at(ip: IpAddr, port: u16) -> String {
    format!("http://{}/", SocketAddr::new(ip, port))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Addresses for documentation (RFC 5737, RFC 3849) and of private networks (RFC 1918).
    fn ips(texts: &[&str]) -> Vec<IpAddr> {
        texts.iter().map(|text| text.parse().unwrap()).collect()
    }

    #[test]
    fn private_addresses_come_first_and_those_no_phone_can_open_not_at_all() {
        let found = ips(&[
            "127.0.0.1",
            "::1",
            "fe80::1",
            "2001:db8::5",
            "169.254.3.4",
            "198.51.100.7",
            "192.168.4.2",
            "192.168.4.2",
            "10.0.0.9",
        ]);
        let order = ["10.0.0.9", "192.168.4.2", "198.51.100.7", "169.254.3.4", "2001:db8::5"];
        assert_eq!(reachable(&found, None), ips(&order));
        // Of two private ones, the one that leads out; but a public one does not pass a private.
        let leads = reachable(&found, Some(found[6]));
        assert_eq!(leads[..2], ips(&["192.168.4.2", "10.0.0.9"])[..]);
        assert_eq!(reachable(&found, Some(found[5]))[0], found[8]);
    }

    #[test]
    fn a_network_that_leads_nowhere_is_found_and_no_network_is_this_computer_alone() {
        let reached = reachable(&ips(&["127.0.0.1", "192.168.8.1"]), None);
        assert_eq!(chosen(None, &reached), (reached[0], Vec::new()));
        let (alone, others) = chosen(None, &reachable(&ips(&["127.0.0.1", "fe80::1"]), None));
        assert!(alone.is_loopback() && others.is_empty());
    }

    #[test]
    fn an_address_can_be_asked_for_if_it_is_of_this_computer() {
        let found = ips(&["127.0.0.1", "10.0.0.9", "192.168.4.2", "fe80::1"]);
        let wanted = found[2];
        assert_eq!(checked(wanted, &found), Ok(wanted));
        assert_eq!(chosen(Some(wanted), &reachable(&found, None)), (wanted, ips(&["10.0.0.9"])));
        assert!(checked(found[0], &found).is_ok());
        for other in ips(&["10.0.0.8", "0.0.0.0", "fe80::1"]) {
            let why = checked(other, &found).unwrap_err().to_string();
            let own = why.contains("10.0.0.9, 192.168.4.2");
            assert!(why.contains(&other.to_string()) && own, "{why}");
        }
        assert_eq!(page_at(ips(&["2001:db8::5"])[0], 80), "http://[2001:db8::5]:80/");
    }
}
