//! The pictures of the guide. A browser test makes them: `UPDATE_PICTURES=1` in `e2e/`.

/// A picture by its name, as PNG.
pub(crate) fn picture(name: &str) -> Option<&'static [u8]> {
    PICTURES.iter().find(|(known, _)| *known == name).map(|(_, bytes)| *bytes)
}

/// All of them.
pub(super) const PICTURES: [(&str, &[u8]); 14] = [
    ("benches.png", include_bytes!("../../../../docs/guide/pictures/benches.png")),
    ("chart.png", include_bytes!("../../../../docs/guide/pictures/chart.png")),
    ("doubt-new.png", include_bytes!("../../../../docs/guide/pictures/doubt-new.png")),
    ("doubt.png", include_bytes!("../../../../docs/guide/pictures/doubt.png")),
    ("first-steps.png", include_bytes!("../../../../docs/guide/pictures/first-steps.png")),
    ("founding.png", include_bytes!("../../../../docs/guide/pictures/founding.png")),
    ("in-service.png", include_bytes!("../../../../docs/guide/pictures/in-service.png")),
    ("machine.png", include_bytes!("../../../../docs/guide/pictures/machine.png")),
    ("make-up.png", include_bytes!("../../../../docs/guide/pictures/make-up.png")),
    ("papers.png", include_bytes!("../../../../docs/guide/pictures/papers.png")),
    ("person.png", include_bytes!("../../../../docs/guide/pictures/person.png")),
    ("result.png", include_bytes!("../../../../docs/guide/pictures/result.png")),
    ("run.png", include_bytes!("../../../../docs/guide/pictures/run.png")),
    ("step.png", include_bytes!("../../../../docs/guide/pictures/step.png")),
];
