# A locale that writes numbers with a comma, made in the build folder for tests that must not notice it. Where the
# locale sources are not installed such tests run in the plain locale.
#   wheelhark_comma_locale(tests...)   these run with de_DE.UTF-8 at hand
function(wheelhark_comma_locale)
  set(folder ${CMAKE_BINARY_DIR}/locale)
  find_program(WH_LOCALEDEF localedef)
  if(WH_LOCALEDEF AND NOT EXISTS ${folder}/de_DE.UTF-8/LC_NUMERIC)
    file(MAKE_DIRECTORY ${folder})
    execute_process(COMMAND ${WH_LOCALEDEF} -i de_DE -f UTF-8 ${folder}/de_DE.UTF-8 OUTPUT_QUIET ERROR_QUIET)
  endif()
  if(EXISTS ${folder}/de_DE.UTF-8/LC_NUMERIC)
    set(known ${PROJECT_SOURCE_DIR}/tests/cmake/comma_locale.supp)  # leaks that LOCPATH brings, none of them ours
    set_tests_properties(${ARGN} PROPERTIES ENVIRONMENT
      "LOCPATH=${folder};LC_ALL=de_DE.UTF-8;WH_COMMA_LOCALE=1;LSAN_OPTIONS=suppressions=${known}:print_suppressions=0")
  endif()
endfunction()
