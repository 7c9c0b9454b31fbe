// A JSON Schema of the input, for editors that complete keys and mark wrong ones while a person types.
#pragma once

#include <string>

namespace loomproof {

/// JSON Schema draft-07 (json-schema.org) of format 1: sections, wires, bundles, duty, and every attribute of every
/// kind of the catalogue with the form of its quantity. Made from the reader's keys, the catalogue and the table of
/// units, so it can say no more and no less than they do. What only the whole file tells (names that exist, a kind of
/// the user's own) is left to `check`.
std::string schema_text();

}  // namespace loomproof
