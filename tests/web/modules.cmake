# Copy the tests of the page to a folder of the build and install what they need beside them.
file(GLOB files ${FROM}/*.mjs ${FROM}/package.json ${FROM}/package-lock.json)
file(MAKE_DIRECTORY ${TO})
file(COPY ${files} DESTINATION ${TO})
execute_process(COMMAND npm ci --no-audit --no-fund --ignore-scripts WORKING_DIRECTORY ${TO} RESULT_VARIABLE failed)
if(failed)
  message(FATAL_ERROR "npm could not install what tests/web/package-lock.json names: check the network")
endif()
