// The keys of the file, section by section: the reader refuses every other, and the schema for editors lists them.
#pragma once

#include <string_view>
#include <vector>

namespace loomproof::keys {

using Words = std::vector<std::string_view>;

inline const Words file{"loom", "vehicle", "conditions", "kinds", "parts", "bundles", "wires", "duty", "must", "waive"};
inline const Words vehicle{"name"};
inline const Words conditions{"ambient", "coldest"};
inline const Words wire{"from", "to", "size", "length", "insulation", "colour", "in", "volts", "sheathed"};
inline const Words bundle{"ambient", "sleeve"};
inline const Words sleeves{"none", "braided", "corrugated", "taped"};
inline const Words duty_point{"for", "with"};  // and part.channel
inline const Words must{"when", "never", "always"};
inline const Words must_what{"live"};
inline const Words waiver{"rule", "subject", "reason"};
inline const Words kind{"about",     "symbol",         "any_terminal", "is_frame",   "repeat", "repeat_from",
                        "positions", "positions_from", "terminals",    "attributes", "inside"};
inline const Words attribute{"is", "assume", "source", "needed", "about"};
inline const Words terminal{"name", "optional", "inside", "on_mention", "about"};

}  // namespace loomproof::keys
