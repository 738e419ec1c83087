//! The address at which phones in the room's network find this machine.

use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};

/// The address of the interface that leads out of this machine, or the loopback address where none
/// does. Nothing is sent: connecting a datagram socket only picks the interface.
#[must_use]
pub fn own_address() -> IpAddr {
    // TEST-NET-3 of RFC 5737: an address that belongs to nobody.
    let nobody = SocketAddr::from((Ipv4Addr::new(203, 0, 113, 1), 9));
    UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))
        .and_then(|socket| {
            socket.connect(nobody)?;
            socket.local_addr()
        })
        .map_or(IpAddr::V4(Ipv4Addr::LOCALHOST), |address| address.ip())
}
