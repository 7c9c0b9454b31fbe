// Wire colours by the letter codes of IEC 60757.
#pragma once

#include <string>
#include <string_view>

namespace loomproof {

/// One code or two joined without a sign (`BU`, `GNYE`): IEC 60757, clauses 4 and 5.
bool is_colour_code(std::string_view text);

/// The code for a colour written in another way (`red`, `rd`, `green/yellow`, `RD/BU`); empty when unclear.
std::string colour_code_for(std::string_view text);

}  // namespace loomproof
