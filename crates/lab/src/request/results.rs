//! Requests about results: working out, doubts, release, attached files.

use super::Request;

forms! {
    /// Work out a result from other than the number of specimens that the method wants.
    WorkOutResult {
        /// The specimens, all of one sample, method and grading.
        specimens: Vec<String>,
        /// Why the laboratory departs from the rules.
        deviation: String,
    }
    /// Open a doubt: mark every result that stands on something that turned out wrong.
    OpenDoubt {
        /// The item.
        item: String,
        /// What of it, in the words of its procedures: `indication`, `speed`, `timer`.
        attribute: String,
        /// The value as found; may be empty.
        found: String,
        /// Since when, YYYY-MM-DD; empty for the last proof.
        since: String,
        /// What happened.
        reason: String,
    }
    /// Close a doubt for one result.
    CloseDoubt {
        /// The doubt.
        doubt: String,
        /// The result.
        result: String,
        /// What was decided, and why.
        reason: String,
    }
    /// Release a result with one's name.
    ReleaseResult {
        /// The result.
        result: String,
        /// Anything that the report should say.
        remark: String,
        /// What others than the laboratory did for it, and who.
        external: String,
        /// Why the laboratory departs from its rules, if it does.
        deviation: String,
    }
    /// Attach a file to what was observed. The bytes are kept by their hash, beside the request.
    AttachFile {
        /// The check, item, sample, specimen, run or result.
        to: String,
        /// The step of the check; may be empty.
        step: String,
        /// What the file is called.
        name: String,
        /// Its kind: `image/jpeg`.
        media_type: String,
        /// SHA-256 of its bytes, 64 hexadecimal digits in lower case.
        sha256: String,
        /// How large it is, in bytes.
        bytes: String,
    }
}
