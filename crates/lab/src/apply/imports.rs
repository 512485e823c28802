//! Files of the past.

use super::Noter;
use crate::fact::Fact;
use crate::state::{Attachment, FileImport, Lab};

impl Lab {
    pub(super) fn apply_import(&mut self, note: &Noter<'_>) {
        match &note.0.fact {
            Fact::FileImported(imported) => {
                self.count('H', note);
                let code = imported.import.clone();
                // The file itself is evidence, kept like any that was attached.
                let file = Attachment {
                    step: None,
                    name: imported.name.clone(),
                    media_type: imported.media_type.clone(),
                    sha256: imported.sha256.clone(),
                    bytes: imported.bytes,
                };
                self.attachments.entry(code.to_string()).or_default().push(note.that(file));
                let import = FileImport {
                    file: note.that((**imported).clone()),
                    tests: Vec::new(),
                    sievings: Vec::new(),
                    references: Vec::new(),
                    reference_results: 0,
                };
                self.file_imports.insert(code, import);
            }
            Fact::PastTestsImported(past) => {
                if let Some(import) = self.file_imports.get_mut(&past.import) {
                    import.tests.extend(past.tests.iter().cloned());
                }
            }
            Fact::PastSievingsImported(past) => {
                if let Some(import) = self.file_imports.get_mut(&past.import) {
                    import.sievings.extend(past.analyses.iter().cloned());
                }
            }
            _ => {}
        }
    }
}
