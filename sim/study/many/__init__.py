"""Many runs of one case: replicates under other weather, spread over workers, kept in a study file, summed up."""
