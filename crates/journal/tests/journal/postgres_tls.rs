//! The line to a database: encrypted, and the server is who its certificate says.

use crate::support::{append, some_drafts};
use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair};
use std::net::TcpListener;
use std::os::unix::fs::{MetadataExt, PermissionsExt, chown};
use std::path::Path;
use stonewear_cluster::Cluster;
use stonewear_journal::postgres::{DatabaseAddress, LaboratoryName, PostgresStore, admit, prepare};
use stonewear_journal::{Store, StoreError};

/// Writes a certificate for `localhost` where the server looks for it, and gives back its issuer's.
fn certified(data: &Path) -> String {
    let mut authority = CertificateParams::new(Vec::<String>::new()).unwrap();
    authority.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
    let authority_key = KeyPair::generate().unwrap();
    let roots = authority.self_signed(&authority_key).unwrap().pem();
    let issuer = Issuer::new(authority, authority_key);
    let key = KeyPair::generate().unwrap();
    let certificate = CertificateParams::new(vec!["localhost".to_owned()]).unwrap();
    let certificate = certificate.signed_by(&key, &issuer).unwrap().pem();
    let owner = std::fs::metadata(data).unwrap();
    for (name, text) in [("server.crt", certificate), ("server.key", key.serialize_pem())] {
        let path = data.join(name);
        std::fs::write(&path, text).unwrap();
        std::fs::set_permissions(&path, PermissionsExt::from_mode(0o600)).unwrap();
        chown(&path, Some(owner.uid()), Some(owner.gid())).unwrap();
    }
    roots
}

#[test]
fn the_server_must_be_who_its_certificate_says() {
    let cluster = Cluster::start();
    let database = cluster.database();
    let owner = database.address("owner").parse().unwrap();
    prepare(&owner).unwrap();
    let name: LaboratoryName = "one".parse().unwrap();
    let role = database.role("bench", "");
    admit(&owner, &name, &role).unwrap();

    let folder = tempfile::tempdir().unwrap();
    let roots = folder.path().join("roots.pem");
    std::fs::write(&roots, certified(&cluster.folder().join("data"))).unwrap();
    let others = folder.path().join("others.pem");
    let foreign = tempfile::tempdir().unwrap();
    std::fs::write(&others, certified(foreign.path())).unwrap();
    let free = TcpListener::bind("127.0.0.1:0").unwrap();
    let port = free.local_addr().unwrap().port();
    drop(free);
    for setting in
        ["ssl = on".to_owned(), "listen_addresses = 'localhost'".into(), format!("port = {port}")]
    {
        database.sql(&format!("ALTER SYSTEM SET {setting}"));
    }
    cluster.restart();

    let open = |host: &str, roots: &Path| {
        let address: DatabaseAddress = format!(
            "postgres://{role}@{host}:{port}/{}?sslmode=verify-full&sslrootcert={}",
            database.name(),
            roots.display()
        )
        .parse()
        .unwrap();
        PostgresStore::open(&address, &name)
    };
    let mut store = open("localhost", &roots).unwrap();
    append(&mut store, &some_drafts(2));
    let mut watching = database.client_at(port);
    let encrypted = watching.query(
        "SELECT s.ssl, s.version FROM pg_stat_ssl s JOIN pg_stat_activity a USING (pid) \
         WHERE a.application_name = 'stonewear'",
        &[],
    );
    let encrypted = encrypted.unwrap();
    assert!(encrypted.len() == 1 && encrypted[0].get::<_, bool>(0), "{encrypted:?}");
    assert_eq!(encrypted[0].get::<_, &str>(1), "TLSv1.3");
    assert_eq!(store.head().unwrap().position, 2);

    // Another name than it vouches for, and an issuer that nobody named.
    for (host, roots) in [("127.0.0.1", &roots), ("localhost", &others)] {
        let refused = open(host, roots).unwrap_err();
        assert!(matches!(&refused, StoreError::Unreachable(_)), "{refused:?}");
        assert!(refused.to_string().contains("certificate"), "{refused}");
    }
}
