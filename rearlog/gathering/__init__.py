"""Any number of cohort files and exported packages, read one by one and summed up as one."""
