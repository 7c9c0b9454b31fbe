// The whole story of one loom on one page: a single HTML file that needs nothing else.
#pragma once

#include <string>
#include <string_view>

#include "rules/ledger.h"
#include "solve/solved.h"

namespace loomproof {

/// One self-contained HTML document: no network, no font or script from elsewhere (its own policy forbids both), every
/// text of the user escaped. Same input, same bytes. Readable without script; the script adds hover, click and the
/// situation explorer.
/// @param diagram_svg  of dot_text() with the same judgement, as draw() gives it
/// @param file_mark    of the loom's file (file_mark.h), for the title block; empty: none
std::string report_of(const Solved&, const Judgement&, std::string_view diagram_svg, std::string_view file_mark = {});

}  // namespace loomproof
