# Turns the page's parts into one source file: each part an array of octets, which no compiler limits or alters.
#
#   cmake -DOUTPUT=... -DHTML=... -DSTYLE=... -DSCRIPT=... -DDIFFERENCE_SCRIPT=... -P embed.cmake

set(text "// Made at build time from the page's template, style and script.\n\n")
string(APPEND text "#include \"compiler/pages/page_parts.h\"\n\nnamespace cairn::page_parts {\n\n")
foreach(part HTML STYLE SCRIPT DIFFERENCE_SCRIPT)
  string(TOLOWER ${part} name)
  file(READ "${${part}}" octets HEX)
  string(REGEX REPLACE "([0-9a-f][0-9a-f])" "'\\\\x\\1'," octets "${octets}")
  string(APPEND text "namespace {\nconstexpr char ${name}_octets[] = {${octets}};\n}\n")
  string(APPEND text "std::string_view ${name}() { return {${name}_octets, sizeof ${name}_octets}; }\n\n")
endforeach()
string(APPEND text "}  // namespace cairn::page_parts\n")
file(WRITE "${OUTPUT}" "${text}")
