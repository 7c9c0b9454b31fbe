# Writes OUT, a C++ source that holds the report's style sheet and script (DIR/report_page.css and .js) as text.
file(READ ${DIR}/report_page.css style)
file(READ ${DIR}/report_page.js script)
string(SHA256 hash "${script}")
file(WRITE ${OUT} "// Generated from report_page.css and report_page.js by embed_report.cmake.
#include \"show/report_text.h\"

namespace loomproof::report {

const std::string_view page_style = R\"page(${style})page\";
const std::string_view page_script = R\"page(${script})page\";
const std::string_view page_script_hash = \"${hash}\";

}  // namespace loomproof::report
")
