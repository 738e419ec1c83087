//! The tables that ship are those that the method makes.
//!
//! `SECOND_GLANCE_BLESS=1 cargo test --release --no-default-features --test core transport_tables`
//! writes them anew after a change of the method or of a refractive index.

use second_glance::material::Library;
use second_glance::optics::transport::Tables;

const FILE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/assets/optics/transport.bin");

#[test]
fn shipped_materials_find_their_tables() {
    let library = Library::shipped().unwrap();
    let shipped = library.tables().held();
    if std::env::var_os("SECOND_GLANCE_BLESS").is_some() {
        // From nothing: tables that no material needs any more go.
        let fresh = Library::new(
            library.ceramics().clone(),
            library.cements().clone(),
            library.tissues().clone(),
            Tables::default(),
        )
        .unwrap();
        fresh.prepare_tables();
        std::fs::write(FILE, fresh.tables().to_bytes()).unwrap();
        return;
    }
    library.prepare_tables();
    let missing: Vec<String> =
        library.tables().held().into_iter().filter(|key| !shipped.contains(key)).collect();
    assert!(missing.is_empty(), "assets/optics/transport.bin lacks {missing:?}");
    // Read and written again, nothing changes.
    assert_eq!(library.tables().to_bytes(), std::fs::read(FILE).unwrap());
}

#[test]
fn damaged_tables_are_not_used() {
    let mut bytes = std::fs::read(FILE).unwrap();
    assert!(Tables::from_bytes(&bytes).is_some());
    assert!(Tables::from_bytes(&bytes[..bytes.len() - 1]).is_none());
    assert!(Tables::from_bytes(&[]).is_none());
    let middle = bytes.len() / 2;
    bytes[middle] ^= 1;
    assert!(Tables::from_bytes(&bytes).is_none());
}
