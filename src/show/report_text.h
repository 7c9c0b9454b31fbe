// Style sheet and script of the report, compiled in from report_page.css and report_page.js.
#pragma once

#include <string_view>

namespace loomproof::report {

extern const std::string_view page_style;
extern const std::string_view page_script;
/// SHA-256 of the script's bytes in hexadecimal: the page allows this script and no other.
extern const std::string_view page_script_hash;

}  // namespace loomproof::report
